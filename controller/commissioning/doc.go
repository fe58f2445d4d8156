// Package commissioning proves a bench: it reads every device, writes limits with the
// output off, watches lid, emergency stop and contactor move, and tries the output on a
// resistor. What it saw is judged in controller/proof.
//
// # Concepts
//
// A [Bench] is open devices and a clock. [Bench.Prove] energises nothing: it never calls
// what switches an output on. Whatever happens, it ends with limits at nothing and the
// output read off.
//
// A person is told what to do and is watched doing it; a lid that nobody lifts is not
// proven. A virtual bench moves its own.
//
// [Bench.TryLoad] is the one thing here that energises. It does so through the
// controller's Station: the same owner, the same off path, the same evidence before the
// output goes on, the same guard of lid, stop, contactor, volts and silence as a load.
// Only what watches the film is replaced by Ohm's law (process.ResistorLoop). A second
// way to energise would be a second thing to prove.
package commissioning
