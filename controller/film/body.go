package film

import (
	"math"

	"anodized/hal/unit"
)

// body is a load on its way, in A, V, s, cm², nm.
type body struct {
	law                    Law
	area, series, limit    float64
	native, fieldless      float64 // fieldless: volts of a nanometre for a softness of 1
	time, set, film        float64
	heat                   float64 // J
	limited                float64 // s at the current limit
	late                   bool    // the last ramp ended at the current limit
	limitSoftness          float64
	limitGrowth, limitRise float64 // nm/s and V/s at the current limit
	observer               *observer
}

func newBody(l Load, o *observer) *body {
	b := &body{
		law: l.Law, area: float64(l.Area), series: float64(l.Series), limit: float64(l.Limit),
		native: float64(l.Native), film: float64(l.Native), set: float64(l.Start),
		fieldless: 1 / (nmPerCentimetre * l.Law.B), observer: o,
	}
	density := b.limit / b.area
	b.limitSoftness = math.Log1p(density / l.Law.I0)
	b.limitGrowth = l.Law.growth(density)
	b.limitRise = b.limitGrowth * b.limitSoftness * b.fieldless
	b.see()
	return b
}

// voltsAtLimit returns the volts at the terminals at which a film carries the
// current limit.
func (b *body) voltsAtLimit(film float64) float64 {
	return film*b.limitSoftness*b.fieldless + b.limit*b.series
}

// density returns the current density at volts at the terminals, in A/cm²: the
// softness u with X u/(1e7 B) + R0 A i0 (e^u - 1) = V, by Newton from above, where
// the sum is convex and cannot be overshot.
func (b *body) density(film, volts float64) float64 {
	slope, drop := film*b.fieldless, b.series*b.area*b.law.I0
	u := volts / slope
	if drop > 0 {
		u = min(u, math.Log1p(volts/drop))
	}
	for range 50 {
		e := math.Expm1(u)
		step := (slope*u + drop*e - volts) / (slope + drop*(e+1))
		u -= step
		if step <= 1e-14*u {
			break
		}
	}
	return b.law.I0 * math.Expm1(u)
}

// now returns the point that the load is at.
func (b *body) now() Point {
	volts, current := b.voltsAtLimit(b.film), b.limit
	if volts > b.set*(1+1e-12) {
		volts, current = b.set, b.area*b.density(b.film, b.set)
	}
	charge := (b.film - b.native) * b.area / (b.law.Efficiency * b.law.KF)
	return Point{
		Time: unit.Seconds(b.time), Volts: unit.Volts(volts), Amperes: unit.Amperes(current),
		Thickness: unit.Nanometres(b.film), Charge: unit.Coulombs(charge),
	}
}

// observer collects the load at given moments.
type observer struct {
	at     []unit.Seconds
	points []Point
}

// until returns the time to the next moment that is wanted.
func (b *body) until() float64 {
	if b.observer == nil || len(b.observer.at) == 0 {
		return math.Inf(1)
	}
	return float64(b.observer.at[0]) - b.time
}

// see keeps the load as it is now where now is wanted.
func (b *body) see() {
	for b.until() <= 1e-12*(1+b.time) {
		b.observer.points = append(b.observer.points, b.now())
		b.observer.at = b.observer.at[1:]
	}
}
