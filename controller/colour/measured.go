package colour

import (
	"math"

	"anodized/hal/unit"
)

// Around is how far from the expected film a measured colour is looked for: nearer
// than another order.
const Around unit.Nanometres = 15

// ThicknessOf returns the film whose colour is nearest to a measured one, within
// Around of the film that the volts of the last run let expect: that fixes the
// order. The residual is the CIEDE2000 difference left; above 3 the film is not to be
// trusted.
func (s *Surface) ThicknessOf(measured Lab, near unit.Nanometres) (d unit.Nanometres, residual float64) {
	const grid = 0.25
	off := func(d float64) float64 { return Difference(measured, s.Lab(unit.Nanometres(d))) }
	low, high := math.Max(0, float64(near-Around)), float64(near+Around)
	best, least := low, off(low)
	for d := low + grid; d <= high; d += grid {
		if here := off(d); here < least {
			best, least = d, here
		}
	}
	at, value := dip(off, math.Max(low, best-grid), math.Min(high, best+grid), 1e-5)
	if value > least {
		at, value = best, least
	}
	return unit.Nanometres(at), value
}

// Slope returns how far the colour moves in CIELAB for a nanometre of film. The
// error of a measured axis over it is the error of the film.
func (s *Surface) Slope(d unit.Nanometres) float64 {
	const half = 0.01
	one, two := s.Lab(max(0, d-half)), s.Lab(d+half)
	span := float64(d+half) - float64(max(0, d-half))
	return math.Sqrt((two.L-one.L)*(two.L-one.L)+(two.A-one.A)*(two.A-one.A)+(two.B-one.B)*(two.B-one.B)) / span
}
