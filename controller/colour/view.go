package colour

import (
	"math"

	"anodized/hal/unit"
)

// View is all there is to say about the colour of a surface at some volts.
type View struct {
	Volts     unit.Volts
	Thickness unit.Nanometres
	XYZ       XYZ
	Lab       Lab
	LCh       LCh
	Screen    Screen
	Name      string
	Order     int
	PerVolt   float64 // CIEDE2000 from half a volt below to half a volt above
	Tolerance Tolerance
}

// Tolerance is how far the volts may be off before the colour differs by CIEDE2000
// 1 and 2: half the window, by the nearer side, and at most WidestTolerance.
type Tolerance struct{ DE1, DE2 unit.Volts }

// WidestTolerance is where the search for the end of a window gives up.
const WidestTolerance unit.Volts = 10

// At returns the colour at some volts, at or above 0.
func (s *Surface) At(scale Scale, v unit.Volts) View {
	d := scale.Thickness(v)
	xyz := s.XYZ(d)
	lab := xyz.Lab(s.white)
	lch := lab.LCh()
	return View{
		Volts: v, Thickness: d, XYZ: xyz, Lab: lab, LCh: lch, Screen: s.OnScreen(xyz),
		Name: lch.Name(), Order: s.Order(d),
		PerVolt: s.DE00PerVolt(scale, v), Tolerance: s.Tolerance(scale, v),
	}
}

// DE00PerVolt returns how much the colour moves in the volt around v.
func (s *Surface) DE00PerVolt(scale Scale, v unit.Volts) float64 {
	return Difference(s.Lab(scale.Thickness(v-0.5)), s.Lab(scale.Thickness(v+0.5)))
}

// Tolerance returns the half windows at some volts, from the path that the colour
// takes, not from its slope.
func (s *Surface) Tolerance(scale Scale, v unit.Volts) Tolerance {
	at := s.Lab(scale.Thickness(v))
	off := func(w unit.Volts) float64 {
		below, above := scale.Thickness(v-w), scale.Thickness(v+w)
		return max(Difference(at, s.Lab(below)), Difference(at, s.Lab(above)))
	}
	one := firstAbove(off, 1, 0)
	return Tolerance{DE1: one, DE2: firstAbove(off, 2, one)}
}

// firstAbove returns where a difference first passes a limit, from some volts on, by
// steps of a twentieth of a volt.
func firstAbove(off func(unit.Volts) float64, limit float64, from unit.Volts) unit.Volts {
	const step = 0.05
	low, high := from, from+step
	below, above := off(low)-limit, off(high)-limit
	for above < 0 {
		low, high, below = high, high+step, above
		if low >= WidestTolerance {
			return WidestTolerance
		}
		above = off(high) - limit
	}
	return crossing(func(v unit.Volts) float64 { return off(v) - limit }, low, high, below, above)
}

// crossing returns where a function that rises through zero does so, to a hundredth
// of a millivolt: false position, and where that moves one end only, bisection.
func crossing(f func(unit.Volts) float64, low, high unit.Volts, below, above float64) unit.Volts {
	const near = 1e-5
	for turn := range 60 {
		middle := high - (high-low)*unit.Volts(above/(above-below))
		if turn%3 == 2 {
			middle = (low + high) / 2
		}
		here := f(middle)
		if math.Abs(here) < near || float64(high-low) < near {
			return middle
		}
		if here < 0 {
			low, below = middle, here
		} else {
			high, above = middle, here
		}
	}
	return (low + high) / 2
}
