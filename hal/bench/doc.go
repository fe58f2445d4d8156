// Package bench turns a bench file into a set of open devices. It is the only
// place that opens connections and the only one that closes them, and it holds the
// one table from a driver's name to what constructs it.
//
// # Concepts
//
// A set is everything that one bench file names. Opening takes the bench for this
// process (a lock file named after the supply's address), opens the supply, whose
// first bytes switch its output off, and reads every other device once. What fails
// is closed again, and the error says which entry of the file it was.
//
// Closing halts first, then gives the supply back to its panel, then closes, then
// gives the lock back.
//
// An error that wraps [ErrFile] is a mistake in the bench file; every other one is
// about the world: a device does not answer, or another process has the bench
// ([ErrInUse]).
package bench
