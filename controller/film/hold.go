package film

import (
	"math"

	"anodized/hal/unit"
)

// HoldCase is a hold at constant volts at the terminals: how long the current
// density falls from one value to another.
type HoldCase struct {
	Volts  unit.Volts
	Area   unit.SquareCentimetres // needed only where Series is above 0
	Series unit.Ohms              // of leads and bath, in series with the film
	From   unit.CurrentDensity
	To     unit.CurrentDensity
}

// Hold returns the time of a hold in closed form, less than 0.02 % from HoldExact.
// Where To is above From the time is negative: so long ago it was.
//
// With V_f = V - R0 A j and X = 1e7 B V_f/u, dt = dX/(η k_F j) is, but for i0/j,
//
//	dt = -B/(η K) { V/(u² j) + R0 A (1/u - 1/u²) } du
//
// whose first part integrates to E2(u)/(u i0), here by its continued fraction cut
// after two terms, and whose second part to logarithms.
func (l Law) Hold(h HoldCase) unit.Seconds {
	return l.hold(h, closedDecay)
}

// HoldExact returns the time of a hold with the exponential integral: exact but for
// i0/j, a part in 1e9 at any current that a supply can read.
func (l Law) HoldExact(h HoldCase) unit.Seconds {
	return l.hold(h, exactDecay)
}

func (l Law) hold(h HoldCase, decay func(u, j float64) float64) unit.Seconds {
	from, to := l.Softness(h.From), l.Softness(h.To)
	fall := decay(to, float64(h.To)*milli) - decay(from, float64(h.From)*milli)
	seriesArea := float64(h.Series) * float64(h.Area)
	return unit.Seconds(l.slowness() * (float64(h.Volts)*fall + seriesArea*seriesDecay(from, to)))
}

// closedDecay is h(j) = 1/(j u (u + 2 - 2/(u+4))), in cm²/A for j in A/cm².
func closedDecay(u, j float64) float64 { return 1 / (j * u * (u + 2 - 2/(u+4))) }

// exactDecay is E2(u)/(u i0), with e^-u/i0 = 1/(j + i0) and i0 beside j left out.
func exactDecay(u, j float64) float64 {
	if u < 1 {
		return math.Exp(u) * E2(u) / (u * j)
	}
	return fractionE2(u) / (u * j)
}

// seriesDecay is ln(from/to) + 1/from - 1/to.
func seriesDecay(from, to float64) float64 { return math.Log(from/to) + 1/from - 1/to }

// DensityAfter returns the current density t after it was From in a hold (To is not
// read): HoldExact backward. Where the film at From is below the range of the law,
// a softness under 5, nothing measurable grows and the density stays.
func (l Law) DensityAfter(h HoldCase, t unit.Seconds) unit.CurrentDensity {
	start := l.Softness(h.From)
	if !(t > 0) || start < 5 {
		return h.From
	}
	time := func(u float64) float64 {
		h.To = unit.CurrentDensity(l.I0 * math.Expm1(u) / milli)
		return float64(l.HoldExact(h))
	}
	u := falling(time, float64(t), 1e-3, start)
	return unit.CurrentDensity(l.I0 * math.Expm1(u) / milli)
}

// falling returns where a falling function has a value, between low and high, by
// bisection to the last bit or nearly so.
func falling(f func(float64) float64, value, low, high float64) float64 {
	for range 60 {
		middle := (low + high) / 2
		if f(middle) > value {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}
