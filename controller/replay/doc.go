// Package replay gives the rows of a run to the code that watched it, once more. A
// review, and the record of a run that nobody closed, take their numbers from here,
// so that both say the same.
//
// Pure: no clock, file or random source.
package replay
