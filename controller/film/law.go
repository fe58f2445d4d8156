package film

import (
	"math"

	"anodized/hal/unit"
	"anodized/profiles"
)

// Law are the constants of the growth of one oxide. They are positive and finite;
// with others the results are not numbers.
type Law struct {
	I0         float64 // A/cm²
	B          float64 // cm/V
	KF         float64 // nm cm²/C, film for a coulomb on a square centimetre at efficiency 1
	Efficiency float64 // share of the charge that stays as film, above 0; above 1 where KF is too low for this bath
}

const (
	nmPerCentimetre = 1e7
	milli           = 1e-3
)

// New returns a law from its constants: i0 in A/cm², b in cm/V, kf in nm cm²/C,
// efficiency above 0.
func New(i0, b, kf, efficiency float64) Law {
	return Law{I0: i0, B: b, KF: kf, Efficiency: efficiency}
}

// FromGrowth returns the law of a metal's growth constants.
func FromGrowth(g profiles.Growth) Law {
	return New(g.I0, g.B, ChargeFactor(g.MolarMass, g.Electrons, g.OxideGCM3), g.Efficiency)
}

// Softness returns u = ln(1 + j/i0), a pure number: a decade less current makes
// ln(10)/u more film.
func (l Law) Softness(j unit.CurrentDensity) float64 {
	return math.Log1p(float64(j) * milli / l.I0)
}

// NMPerVolt returns the nanometres of film that a volt across it holds at a
// current density, 1e7 B/u.
func (l Law) NMPerVolt(j unit.CurrentDensity) float64 {
	return nmPerCentimetre * l.B / l.Softness(j)
}

// Calibrated returns the law with B scaled so that NMPerVolt(at) is nmPerVolt. The
// softness stays: what is measured in one bath moves the field, not its slope.
func (l Law) Calibrated(nmPerVolt float64, at unit.CurrentDensity) Law {
	l.B = nmPerVolt * l.Softness(at) / nmPerCentimetre
	return l
}

// Warmed returns the law at another temperature: the field at one current density
// is inversely proportional to the absolute temperature, so B grows by the share
// perKelvin (0.0034 /K, from memory of capacitor practice) for each kelvin.
func (l Law) Warmed(perKelvin float64, from, to unit.Celsius) Law {
	l.B *= 1 + perKelvin*float64(to-from)
	return l
}

// Density returns the current density through a film of x at v across it. It grows
// exponentially: a field far above the law's range gives +Inf.
func (l Law) Density(v unit.Volts, x unit.Nanometres) unit.CurrentDensity {
	u := nmPerCentimetre * l.B * float64(v) / float64(x)
	return unit.CurrentDensity(l.I0 * math.Expm1(u) / milli)
}

// Thickness returns the film that carries j at v across it.
func (l Law) Thickness(v unit.Volts, j unit.CurrentDensity) unit.Nanometres {
	return unit.Nanometres(float64(v) * l.NMPerVolt(j))
}

// Volts returns the volts across a film of x that carries j. With j the first
// current that is noticed it is the onset: below it a film that is already there
// lets nothing through and hides what the volts would grow.
func (l Law) Volts(x unit.Nanometres, j unit.CurrentDensity) unit.Volts {
	return unit.Volts(float64(x) / l.NMPerVolt(j))
}

// growth returns dX/dt in nm/s at j in A/cm².
func (l Law) growth(j float64) float64 { return l.Efficiency * l.KF * j }

// slowness returns B/(η K) in V s A/(V cm²): the factor of every hold time.
func (l Law) slowness() float64 { return nmPerCentimetre * l.B / (l.Efficiency * l.KF) }
