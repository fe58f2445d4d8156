// Package plan turns profile, rack and calibration into numbers only: nothing is
// left to look up once the output is on.
//
// A plan is a list of stages. Each stage ramps to a voltage under a current limit
// and ends by an end criterion. The process, the simulation and the replay run
// the same stages. What the plan expects is computed for the plan's own end
// criterion, converted by the growth law from the calibration's where they differ.
//
// The current limit is the profile's density on the whole wetted area, hooks and
// wires counted as fresh metal; the end current is the end's density on the same
// declared area. What is expected is the growth law's forecast of this very load,
// contact check and series resistance in it; the colour is that of the calibration's
// film, for the end that the run will have.
//
// A rack that was formed before draws nothing below its old volts, so its contact
// check ends just above them, and a target below them is refused: a film only grows.
//
// The id is a hash of every number and name of a plan: the same request always gives
// the same id.
//
// Units are in the types and in the names of the JSON fields. Thresholds of the
// warnings are our own choice or common practice where no source stands beside them.
//
// Pure: no clock, file or random source.
package plan
