// Package controller is the Station: one goroutine that owns the supply of a
// bench. Commands go in, an immutable [Snapshot] comes out.
//
// A tick reads the interlock, the supply and the slow sensors, asks the pure core
// what to do, carries it out (off first, limits and setpoint down, then up, on
// last), hands the row to the recorder, and publishes the snapshot. What did not
// answer is an input as well: there is no reading that means "no reading".
//
// Energising waits for the disk: the intent of a run is durable before the output
// goes on. De-energising waits for nothing: no lock, reply, disk, queue, network
// or context stands before the off path. The first action of a Station is off,
// and so is its last.
//
// Times inside are seconds of one monotonic clock, that of the [Pacer]; the wall
// clock is a label on the record. Volts and amperes are at the supply's terminals.
package controller
