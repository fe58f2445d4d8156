// Package review says what a recorded run, or a curve from elsewhere, shows: is it
// usable at all, what were the estimates, what was found, and what can no curve
// show. It replays the rows through the code that watched the run, so the review
// of a recorded run gives the numbers of its result.
//
// The electrical verdict and the colour verdict are two fields: a clean curve with
// a bad colour is a common and honest result. Without a reading of the parts the
// colour is unknown.
//
// Times are seconds since the first energised second, volts and amperes are at
// the terminals of the supply, current densities are in mA/cm² on the declared
// area, thickness is in nm.
//
// Pure: no clock, file or random source.
package review
