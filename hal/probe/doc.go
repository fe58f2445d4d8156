// Package probe keeps the latest reading of a slow thermometer, or of a voltmeter.
//
// # Concepts
//
// Reading a probe takes up to a second, so [Probe.Watch] does it once a second in a
// goroutine of its own, and [Probe.Temperature] returns the latest reading, in °C,
// and when it was taken, without waiting. Where the last attempt failed, or the
// reading is older than 5 s, there is none: a bus that hangs only lets it age.
//
// A step of more than 5 °C since the reading before is refused: litres of bath do
// not do that in a second, a loose wire does. A real step passes with the second
// reading that shows it.
//
// A [Meter] is read four times a second, in V, and its reading is good for 2 s. Each
// reading carries the middle of its exchange as its time: whoever compares it with
// another instrument in a ramp must compare one moment with one moment. Its steps are
// not judged, since volts do step.
package probe
