package film

import (
	"math"

	"anodized/hal/unit"
)

// Steady is what a ramp settles to.
type Steady struct {
	Density   unit.CurrentDensity
	NMPerVolt float64
	Softness  float64
}

// SteadyRamp returns what a ramp of the volts across the film settles to: the
// field at which the film grows as fast as the volts, r = E K η j. A rate of zero
// or less grows nothing: density and softness are 0, and a volt has no meaning.
func (l Law) SteadyRamp(r unit.VoltsPerSecond) Steady {
	if !(r > 0) {
		return Steady{NMPerVolt: math.NaN()}
	}
	u := steadySoftness(float64(r) * l.slowness() / l.I0)
	j := unit.CurrentDensity(l.I0 * math.Expm1(u) / milli)
	return Steady{Density: j, NMPerVolt: nmPerCentimetre * l.B / u, Softness: u}
}

// steadySoftness solves u (e^u - 1) = c for c above 0 by Newton on its logarithm,
// which is nearly a straight line.
func steadySoftness(c float64) float64 {
	u := min(math.Sqrt(c), 1+math.Log1p(c))
	for range 60 {
		grown := -math.Expm1(-u) // (e^u - 1)/e^u
		step := (math.Log(u) + u + math.Log(grown) - math.Log(c)) / (1/u + 1/grown)
		next := max(u-step, u/2)
		if math.Abs(next-u) <= 1e-15*u {
			return next
		}
		u = next
	}
	return u
}

// RampRate returns how fast the volts across the film rise at a constant current
// density: SteadyRamp backward.
func (l Law) RampRate(j unit.CurrentDensity) unit.VoltsPerSecond {
	return unit.VoltsPerSecond(l.Softness(j) * float64(j) * milli / l.slowness())
}

// RelaxationTime returns the seconds in which the current falls by a factor e when
// a steady ramp stops, at first: V/(r u) with v the volts across the film.
func (l Law) RelaxationTime(v unit.Volts, r unit.VoltsPerSecond) unit.Seconds {
	return unit.Seconds(float64(v) / (float64(r) * l.SteadyRamp(r).Softness))
}
