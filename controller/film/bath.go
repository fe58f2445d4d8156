package film

import (
	"math"

	"anodized/hal/unit"
	"anodized/profiles"
)

// OfBath returns the law of one bath: that of the metal's oxide, with the nm per volt
// of a calibration at its own end and, where they were measured, its softness there:
// B = 1e-7 u a and i0 = j/(e^u - 1), and the share of the charge that stays as film. What
// was not measured is that of the metal's growth constants.
func OfBath(g profiles.Growth, c profiles.Calibration) Law {
	l := FromGrowth(g)
	if c.Softness > 0 {
		l.I0 = float64(c.EndCurrentDensity) * milli / math.Expm1(c.Softness)
	}
	if c.Efficiency > 0 {
		l.Efficiency = c.Efficiency
	}
	return l.Calibrated(c.NMPerVolt, c.EndCurrentDensity)
}

// guessed is the relative standard deviation of a softness that nobody measured: the
// softest and the stiffest law that titanium is thought to follow lie a third of the
// usual one's softness from it (15.2, 22.8 and 30.4 at 0.5 mA/cm2, computed; our choice).
const guessed = 1.0 / 3

// SoftnessSD is how well the softness of a calibration is known.
func SoftnessSD(g profiles.Growth, c profiles.Calibration) float64 {
	if c.Softness > 0 && c.SoftnessSD > 0 {
		return c.SoftnessSD
	}
	return guessed * OfBath(g, c).Softness(c.EndCurrentDensity)
}

// Convert returns what the nm per volt at one end current density are times those at
// another, u(from)/u(to), and the standard deviation of that factor where u is known to
// softnessSD. Of the same end it is 1, for certain.
func (l Law) Convert(from, to unit.CurrentDensity, softnessSD float64) (factor, sd float64) {
	known, wanted := l.Softness(from), l.Softness(to)
	return known / wanted, math.Abs(wanted-known) / (wanted * wanted) * softnessSD
}
