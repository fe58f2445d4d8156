package calibrate

import (
	"fmt"
	"math"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// CauseCode is the likely cause of a wrong reading.
type CauseCode string

// The causes.
const (
	Swapped   CauseCode = "swapped"    // with another coupon
	VoltsOff  CauseCode = "volts-off"  // the colour is one of this film, at other volts
	Typed     CauseCode = "typed"      // one value of the colour
	NotOfFilm CauseCode = "not-a-film" // no film of this surface has the colour
)

// Cause is the likely cause of a wrong reading, with what goes with it.
type Cause struct {
	Code      CauseCode
	Volts     unit.Volts // whose colour it is
	VoltsOff  unit.Volts // that less the volts of the reading
	Order     int        // of interference, of the colour
	OrderHere int        // expected
	With      int        // index of the other reading; -1
	Axis      string     // of the value: L, a or b
	Expected  float64    // of that value
}

// explainedBy is how far, in standard deviations of a reading, a cause may leave the
// colour.
const explainedBy = 4

func difference(a, b vector) float64 { return colour.Difference(a.lab(), b.lab()) }

// causes looks for the cause of each wrong reading.
func (f *fitter) causes(fit *Fit) {
	near := explainedBy * max(leastNoise, fit.scatterOr(leastNoise)) * math.Sqrt(3)
	surface, err := f.ladder.surface(fit.IndexScale)
	for k := range f.data {
		judged := &fit.Readings[f.order[k]]
		if !judged.Wrong {
			continue
		}
		judged.Cause = f.cause(k, fit, near)
		if err == nil {
			judged.Cause.Order = surface.Order(fit.Film(judged.Cause.Volts))
			judged.Cause.OrderHere = surface.Order(judged.Film)
		}
		judged.WhatToSay = judged.Cause.words(judged.Reading, fit.Readings)
	}
}

func (fit *Fit) scatterOr(otherwise float64) float64 {
	if math.IsNaN(fit.Scatter) {
		return otherwise
	}
	return fit.Scatter
}

func (f *fitter) cause(k int, fit *Fit, near float64) Cause {
	if other := f.swapped(k, fit, near); other >= 0 {
		return Cause{Code: Swapped, With: f.order[other], Volts: fit.Readings[f.order[other]].Volts,
			VoltsOff: unit.Volts(f.data[other].volts - f.data[k].volts)}
	}
	volts, off := f.voltsOf(k, fit)
	axis, left := f.typed(k, fit)
	elsewhere := Cause{Code: VoltsOff, With: -1, Volts: unit.Volts(volts), VoltsOff: unit.Volts(volts - f.data[k].volts)}
	switch {
	case left < near*math.Sqrt(2.0/3) && left < off:
		return Cause{Code: Typed, With: -1, Axis: [3]string{"L", "a", "b"}[axis],
			Expected: vectorOf(fit.Readings[f.order[k]].Expected)[axis], Volts: elsewhere.Volts, VoltsOff: elsewhere.VoltsOff}
	case off < near:
		return elsewhere
	}
	elsewhere.Code = NotOfFilm
	return elsewhere
}

// swapped finds the wrong reading that this one changed places with.
func (f *fitter) swapped(k int, fit *Fit, near float64) int {
	for other := range f.data {
		if other == k || !f.wrong[other] {
			continue
		}
		one := f.data[k].lab.minus(f.path.lab(fit.numbers.film(f.data[other].volts)))
		two := f.data[other].lab.minus(f.path.lab(fit.numbers.film(f.data[k].volts)))
		if one.length() < near && two.length() < near {
			return other
		}
	}
	return -1
}

// voltsOf is the volts whose colour a reading has, and how far it is from that, in
// CIELAB. Of several orders that look alike the nearest counts.
func (f *fitter) voltsOf(k int, fit *Fit) (volts, off float64) {
	const stride = 0.5 // nm
	here := f.data[k]
	away := func(d float64) float64 { return here.lab.minus(f.path.lab(d)).length() }
	best, least := 0.0, math.Inf(1)
	for d := 0.0; d < float64(len(f.path.labs)-1); d += stride {
		if score := away(d) + math.Abs(d-fit.numbers.film(here.volts))/200; score < least {
			best, least = d, score
		}
	}
	for step := stride / 2; step > 0.01; step /= 2 {
		for _, d := range []float64{best - step, best + step} {
			if d >= 0 && away(d) < away(best) {
				best = d
			}
		}
	}
	return (best - fit.numbers[0]) / fit.numbers[1], away(best)
}

// typed finds the one value of the colour without which the rest is as expected, and
// how far off the rest is, in CIELAB.
func (f *fitter) typed(k int, fit *Fit) (axis int, left float64) {
	off := f.data[k].lab.minus(vectorOf(fit.Readings[f.order[k]].Expected))
	left = math.Inf(1)
	for i := range off {
		rest := off
		rest[i] = 0
		if rest.length() < left {
			axis, left = i, rest.length()
		}
	}
	return axis, left
}

// words are the cause for people.
func (c Cause) words(r Reading, all []Judged) string {
	switch c.Code {
	case Swapped:
		return fmt.Sprintf("it has the colour of the coupon at %.4g V, and that one has its: the two were swapped", float64(all[c.With].Volts))
	case Typed:
		return fmt.Sprintf("only %s does not fit: %.4g was written, about %.3g is expected; read it again", c.Axis, value(r.Lab, c.Axis), c.Expected)
	case VoltsOff:
		return fmt.Sprintf("it has the colour of %.1f V%s, %s: another coupon's reading, or the volts were not held", float64(c.Volts), c.orderWords(), offWords(c.VoltsOff))
	}
	return fmt.Sprintf("no film of this metal has this colour; the nearest is that of %.1f V: stains, another finish or metal, or misread", float64(c.Volts))
}

func (c Cause) orderWords() string {
	if c.Order == c.OrderHere {
		return ""
	}
	return fmt.Sprintf(" (order %d, not %d)", c.Order, c.OrderHere)
}

func offWords(v unit.Volts) string {
	if v < 0 {
		return fmt.Sprintf("%.1f V less", -float64(v))
	}
	return fmt.Sprintf("%.1f V more", float64(v))
}

func value(c colour.Lab, axis string) float64 {
	switch axis {
	case "L":
		return c.L
	case "a":
		return c.A
	}
	return c.B
}
