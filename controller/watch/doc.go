// Package watch holds the online estimators and fault detectors: one pass,
// constant memory, no allocation a tick. The bench, the simulation, the replay and
// the review run the same code.
//
// Times are seconds since the first energised second, volts and amperes are at the
// terminals of the supply, current densities are in mA/cm² on the declared area,
// thickness is in nm.
package watch
