// Package unit holds the quantities of the bench as types, so that a millivolt
// cannot be taken for a volt.
//
// Each type is a float64 in one canonical unit, named by the type: Volts in V,
// Amperes in A, SquareCentimetres in cm², CurrentDensity in mA/cm² (the unit
// that the trade writes; 1 mA/cm² = 10 A/m²), and so on. People write and read
// quantities with their unit ("5 mA/cm2"); [Parse] takes every unit of the right
// dimension and refuses all else. JSON carries the bare number, with the unit in
// the name of its field.
package unit
