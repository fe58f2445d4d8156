// Package virtual is a whole bench without a bench: a supply, a lid switch with
// two channels, a bath thermometer and a person who hangs racks, around the body
// of package plant. Everything it says of itself says SIMULATED.
//
// It stands in memory, as devices of package hal on a simulated clock that moves
// only when [Bench.Next] is called. The same setup and seed give the same bytes.
// Its sub-packages put the same bench on sockets, in the protocols of real
// instruments.
//
// A [Fault] happens at a moment of a timetable: a time since the bench was
// started or first energised, a voltage reached, a time in the hold. Production
// code has no branch for any of them.
//
// Only tests and the campaign may open [Bench.Truth].
package virtual
