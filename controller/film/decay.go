package film

import (
	"math"

	"anodized/hal/unit"
)

// Decay is the hold without area, efficiency or constants: all that a curve shows.
// With x the film current over that at the end of the ramp, and u = U0 + ln x,
//
//	t(x) = (U0/r) { V [H(x) - H(1)] + R0 I0 [ln(U0/u) + 1/U0 - 1/u] }
//	H(x) = 1/(x u (u + 2 - 2/(u+4)))
type Decay struct {
	Volts      unit.Volts          // at the terminals, constant
	Rate       unit.VoltsPerSecond // of the film just before the hold; after a ramp at the current limit the measured one
	SeriesDrop unit.Volts          // R0 I0
	U0         float64             // softness at the end of the ramp
}

// Time returns the seconds from the start of the hold until the film current is
// the share x of what it was, for x above 0 to 1. Where the share is so small that
// the law ends (u at or below 0) the answer is +Inf.
func (d Decay) Time(x float64) unit.Seconds {
	u := d.U0 + math.Log(x)
	if !(u > 0) {
		return unit.Seconds(math.Inf(1))
	}
	fall := closedDecay(u, x) - closedDecay(d.U0, 1)
	drop := float64(d.SeriesDrop) * seriesDecay(d.U0, u)
	return unit.Seconds(d.U0 / float64(d.Rate) * (float64(d.Volts)*fall + drop))
}

// Ratio returns the share of the film current t into the hold: Time backward, by
// Newton from the local law. A t of zero or less gives 1.
func (d Decay) Ratio(t unit.Seconds) float64 {
	if !(t > 0) {
		return 1
	}
	low, high := 0.05, d.U0 // of u: time at low is beyond any run
	u := d.U0 - math.Log1p(float64(t)/d.seconds(d.U0))
	for range 60 {
		x := math.Exp(u - d.U0)
		late := float64(d.Time(x) - t)
		if late > 0 {
			low = u
		} else {
			high = u
		}
		step := late / d.seconds(u)
		next := u + step
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		if math.Abs(next-u) <= 1e-14*d.U0 {
			return math.Exp(next - d.U0)
		}
		u = next
	}
	return math.Exp(u - d.U0)
}

// seconds returns -dt/du of the closed form's parent, which is within a few parts
// in 1e4 of the slope of Time.
func (d Decay) seconds(u float64) float64 {
	x := math.Exp(u - d.U0)
	return d.U0 / float64(d.Rate) * (float64(d.Volts)/(u*u*x) + float64(d.SeriesDrop)*(1-1/u)/u)
}

// FitU0 returns the softness with which the current had fallen to the share x at t
// into the hold, by bisection; the U0 of d is not read. It is not a number where
// no softness from 0.1 above the fall to 500 does: the current is not growth
// alone, or the moment of the hold's start is wrong.
func FitU0(d Decay, x float64, t unit.Seconds) float64 {
	low, high := 0.1-math.Log(x), 500.0
	if !(x > 0 && x < 1) || !(d.at(low, x) >= t && d.at(high, x) <= t) {
		return math.NaN()
	}
	for range 60 {
		middle := (low + high) / 2
		if d.at(middle, x) > t {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

func (d Decay) at(u0, x float64) unit.Seconds {
	d.U0 = u0
	return d.Time(x)
}
