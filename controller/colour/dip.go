package colour

import "math"

// dip returns where a function above 0 is least between two places, to within a
// distance, and its value there: golden section, hastened by parabolas through the
// squares of the last three values, which near an exact match are a parabola where
// the values themselves have a corner.
//
// R. P. Brent, Algorithms for Minimization without Derivatives (1973), chapter 5
// (from memory).
func dip(f func(float64) float64, low, high, within float64) (at, value float64) {
	square := func(x float64) float64 { y := f(x); return y * y }
	s := newDipSearch(low, high, square)
	for range 50 {
		middle := (s.low + s.high) / 2
		if math.Abs(s.best.x-middle) <= 2*within-(s.high-s.low)/2 {
			break
		}
		x := s.best.x + s.stride(middle, within)
		s.take(place{x, square(x)})
	}
	return s.best.x, math.Sqrt(s.best.y)
}

type place struct{ x, y float64 }

// dipSearch holds the best three places so far and the bracket around them.
type dipSearch struct {
	low, high           float64
	best, second, third place
	step, before        float64 // the last stride and the one before
}

var goldenShare = (3 - math.Sqrt(5)) / 2

func newDipSearch(low, high float64, f func(float64) float64) *dipSearch {
	x := low + goldenShare*(high-low)
	first := place{x, f(x)}
	return &dipSearch{low: low, high: high, best: first, second: first, third: first}
}

// stride returns the way from the best place to the next, never less than within.
func (s *dipSearch) stride(middle, within float64) float64 {
	step, fits := s.parabola(within)
	x := s.best.x + step
	switch {
	case !fits && s.best.x < middle:
		s.before = s.high - s.best.x
		step = goldenShare * s.before
	case !fits:
		s.before = s.low - s.best.x
		step = goldenShare * s.before
	case x-s.low < 2*within || s.high-x < 2*within:
		step = math.Copysign(within, middle-s.best.x)
	}
	if math.Abs(step) < within {
		step = math.Copysign(within, step)
	}
	s.step = step
	return step
}

// parabola returns the way to the vertex through the three places, and whether it
// may be trusted: inside the bracket, and shorter than half the stride before last.
func (s *dipSearch) parabola(within float64) (step float64, fits bool) {
	r := (s.best.x - s.second.x) * (s.best.y - s.third.y)
	q := (s.best.x - s.third.x) * (s.best.y - s.second.y)
	p := (s.best.x-s.third.x)*q - (s.best.x-s.second.x)*r
	q = 2 * (q - r)
	before := s.before
	s.before = s.step
	if math.Abs(before) <= within || q == 0 {
		return 0, false
	}
	step = -p / q
	x := s.best.x + step
	return step, math.Abs(step) < math.Abs(before)/2 && x > s.low && x < s.high
}

// take puts a new place where it belongs and closes the bracket.
func (s *dipSearch) take(p place) {
	outer, inner := p, s.best
	if p.y <= s.best.y {
		outer, inner = s.best, p
	}
	if outer.x < inner.x {
		s.low = outer.x
	} else {
		s.high = outer.x
	}
	switch {
	case p.y <= s.best.y:
		s.third, s.second, s.best = s.second, s.best, p
	case p.y <= s.second.y || s.second.x == s.best.x:
		s.third, s.second = s.second, p
	case p.y <= s.third.y || s.third.x == s.best.x || s.third.x == s.second.x:
		s.third = p
	}
}
