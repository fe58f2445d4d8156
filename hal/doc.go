// Package hal is the vocabulary of the bench: what its devices can do, one small
// interface each. Drivers live below it and get a transport that they cannot
// close; only hal/bench opens and closes.
//
// A value that was not read is not a number. A method that cannot answer returns
// an error, and the value beside it is NaN. "No reading" is never zero.
//
// Every actuator starts and ends inert: opening a device switches it off before
// anything is read, Halt is idempotent, waits for no reply that is not coming,
// and is tried even on a link that is not trusted.
//
// One goroutine owns a device. Times are monotonic.
package hal
