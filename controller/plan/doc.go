// Package plan turns profile, rack and calibration into numbers only: nothing is
// left to look up once the output is on.
//
// A plan is a list of stages. Each stage ramps to a voltage under a current limit
// and ends by an end criterion. The process, the simulation and the replay run
// the same stages. What the plan expects is computed for the plan's own end
// criterion, converted by the growth law from the calibration's where they differ.
//
// Pure: no clock, file or random source.
package plan
