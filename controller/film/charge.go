package film

import "anodized/hal/unit"

// Physical constants, CODATA 2018 (from memory).
const (
	Faraday     = 96485.33212   // C/mol
	gasConstant = 8.31446261815 // J/(mol K)
)

// ChargeFactor returns k_F in nm cm²/C: the film that a coulomb makes on a square
// centimetre when all of it makes oxide. The molar mass is in g/mol of oxide,
// electrons are per formula unit (4 for Ti + 2 H2O → TiO2 + 4 H+ + 4 e-), the
// density is in g/cm³.
func ChargeFactor(molarMass, electrons, densityGCM3 float64) float64 {
	return nmPerCentimetre * molarMass / (electrons * Faraday * densityGCM3)
}

// ChargeThickness returns the film that a charge through an area leaves on top of
// what was there.
func (l Law) ChargeThickness(native unit.Nanometres, q unit.Coulombs, a unit.SquareCentimetres) unit.Nanometres {
	return native + unit.Nanometres(l.Efficiency*l.KF*float64(q)/float64(a))
}

// ChargeFor returns the charge that grows an area of film from one thickness to
// another.
func (l Law) ChargeFor(from, to unit.Nanometres, a unit.SquareCentimetres) unit.Coulombs {
	return unit.Coulombs(float64(to-from) * float64(a) / (l.Efficiency * l.KF))
}

// EffectiveArea returns the wetted area from the charge per volt of a steady ramp,
// in C/V, at its current density. Area and efficiency show in one product only: an
// efficiency below the law's own reads as more area.
func (l Law) EffectiveArea(chargePerVolt float64, at unit.CurrentDensity) unit.SquareCentimetres {
	return unit.SquareCentimetres(l.Efficiency * l.KF * chargePerVolt / l.NMPerVolt(at))
}

// HydrogenML returns the hydrogen that a charge sets free at the cathode, in mL at
// 20 °C and 101.325 kPa: 7.479 mL for an ampere-minute. All current counts, a leak
// through the bath included.
func HydrogenML(q unit.Coulombs) float64 {
	const millilitresPerMole = gasConstant * 293.15 / 101325 * 1e6
	return float64(q) / (2 * Faraday) * millilitresPerMole
}
