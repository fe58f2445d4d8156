// Package calibrate turns a ladder of coupons into the calibration of one bath on one
// metal: nanometres of film a volt, the offset, how well both are known, and which of
// the readings cannot be right. It also says at which volts coupons tell most.
//
// Concepts: a [Reading] is the colour that some volts made. A [Ladder] is readings with
// what they are read against: the optical tables of film and metal. A [Fit] is what
// they say. A [Design] is the volts of a ladder that is still to be made.
//
// The model is Lab(offset + nm/V × V): the reflectance of one even film, seen as
// [colour.Surface] sees it. Volts of readings that ended at different current densities
// are brought to one density by the softness of the growth law first.
//
// Colour fixes the product of the film's index and its thickness, and nothing more: nm/V
// are nanometres of the optical table that was used. A lumped scale of the index is
// fitted on request, or where the readings say plainly that it is not 1.
//
// Standard deviations are of the readings' own scatter, and such that two of them hold
// 95 % also where readings are few (Student's factor; JCGM 100:2008, annex G).
//
// Units: volts, nm, CIELAB and CIEDE2000 for illuminant and observer of the ladder,
// mA/cm². Pure: no clock, file or random source; the same readings in any order give the
// same answer.
package calibrate
