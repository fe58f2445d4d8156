// Package stand is the far side of drivers, for tests: a virtual bench as instruments,
// chips and modules see it, all in memory, so that a whole bench runs in a bubble of
// testing/synctest. SIMULATED, and never part of the program.
//
// # Concepts
//
// A [Cable] is a line in memory between a driver and an instrument. A [Plug] is where the
// driver's end goes in: whoever dials has a new cable to the instrument that stands there
// now; it can be pulled, and another instrument can be put in its place. A [Tap] sits on
// the cables of a plug: it writes down what was asked, and spoils the next answer.
//
// A [Board] is a computer's GPIO chip, I2C bus, 1-Wire and SPI with the electronics around
// it. Its chips were written after their data sheets and recorded exchanges, not after
// the drivers; what they read and do is the virtual bench.
package stand
