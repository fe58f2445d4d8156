package colour

import (
	"math"
	"sort"

	"anodized/hal/unit"
)

// Around is how far from the expected film a measured colour is looked for: nearer
// than another order.
const Around unit.Nanometres = 15

// Dip is a film whose colour is nearer to a measured one than that of its neighbours.
type Dip struct {
	Thickness unit.Nanometres
	DE00      float64 // left
}

// ThicknessOf returns the film whose colour is nearest to a measured one, within
// Around of the film that the volts of the last run let expect: that fixes the
// order. The residual is the CIEDE2000 difference left; above 3 the film is not to be
// trusted.
func (s *Surface) ThicknessOf(measured Lab, near unit.Nanometres) (d unit.Nanometres, residual float64) {
	best := s.Dips(measured, near-Around, near+Around)[0]
	return best.Thickness, best.DE00
}

// Dips returns the films from low to high where the colour comes nearest to a
// measured one, best first: at least one, which may be an end of the range. A film
// below 0 counts as 0.
func (s *Surface) Dips(measured Lab, low, high unit.Nanometres) []Dip {
	const grid = 0.25
	off := func(d float64) float64 { return Difference(measured, s.Lab(unit.Nanometres(d))) }
	from := math.Max(0, float64(low))
	rows := max(1, int(math.Ceil((float64(high)-from)/grid)))
	step := math.Max(0, float64(high)-from) / float64(rows)
	var found []Dip
	before, here := math.Inf(1), off(from)
	for i := range rows + 1 {
		d, after := from+float64(i)*step, math.Inf(1)
		if i < rows {
			after = off(d + step)
		}
		if here < before && here <= after {
			at, value := dip(off, math.Max(from, d-step), math.Min(from+float64(rows)*step, d+step), 1e-5)
			if value > here {
				at, value = d, here
			}
			found = append(found, Dip{unit.Nanometres(at), value})
		}
		before, here = here, after
	}
	if len(found) == 0 { // not a number: no colour at all
		found = append(found, Dip{unit.Nanometres(from), off(from)})
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].DE00 < found[j].DE00 })
	return found
}

// Slope returns how far the colour moves in CIELAB for a nanometre of film. The
// error of a measured axis over it is the error of the film.
func (s *Surface) Slope(d unit.Nanometres) float64 {
	const half = 0.01
	one, two := s.Lab(max(0, d-half)), s.Lab(d+half)
	span := float64(d+half) - float64(max(0, d-half))
	return math.Sqrt((two.L-one.L)*(two.L-one.L)+(two.A-one.A)*(two.A-one.A)+(two.B-one.B)*(two.B-one.B)) / span
}
