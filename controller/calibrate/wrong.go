package calibrate

import (
	"math"
	"slices"

	"anodized/controller/colour"
)

// A reading is wrong where, by the others alone, its place is very unlikely, and where
// neither the eye nor the scatter of coupons explains it.
const (
	falseNaming     = 0.01 // chance, for a whole ladder, that a good reading is named
	leastWrongDE    = 1.5  // CIEDE2000 that it is off by at least
	couponScatter   = 0.4  // V that coupons differ by anyway: common practice, no source
	leastScatter    = 0.1  // CIELAB an axis: the repeatability of an instrument, common practice, no source
	mostWrongShare  = 0.4  // beyond it nobody can tell right from wrong
	mostRounds      = 12
	clearlyFarSigma = 6
)

// weed names what cannot be right. It begins with what is far off a robust fit, then
// drops or takes back one reading at a time by what the others say of it. The knee then
// follows the scatter of what is left.
func (f *fitter) weed(from numbers) {
	f.dropFar(from)
	at := f.plain(f.used(), from)
	for range mostRounds {
		if !f.change(at) {
			break
		}
		at = f.plain(f.used(), at.numbers)
	}
	if left := freedom(len(f.used()), 2); left > 0 {
		f.knee = max(firstKnee, kneeSigma*math.Sqrt(at.loss/left))
	}
}

// plain is least squares from some numbers.
func (f *fitter) plain(data []datum, from numbers) solved {
	return solver{pathModel{f.path}, 2, noKnee, f.slope}.solve(data, from)
}

// mostWrong is how many readings may be named.
func (f *fitter) mostWrong() int { return int(mostWrongShare * float64(len(f.data))) }

func (f *fitter) dropFar(from numbers) {
	off := make([]float64, len(f.data))
	for i, d := range f.data {
		off[i] = d.lab.minus(f.path.lab(from.film(d.volts))).length()
	}
	sorted := slices.Sorted(slices.Values(off))
	middle := max(sorted[len(sorted)/2]/colour.MiddleOfThree, leastScatter)
	limit := max(clearlyFarSigma*middle, sorted[len(sorted)-1-f.mostWrong()])
	for i := range f.data {
		f.wrong[i] = off[i] > limit && f.notable(f.data[i], from)
	}
}

// change drops the least likely of the readings that are used, or takes back the
// likeliest of the others, and tells whether there was one.
func (f *fitter) change(at solved) bool {
	limit := falseNaming / float64(len(f.data))
	worst, back, worstChance, backChance := -1, -1, limit, limit
	named := 0
	for i := range f.data {
		chance := f.chance(i, at)
		switch {
		case f.wrong[i]:
			named++
			if chance > backChance {
				back, backChance = i, chance
			}
		case chance < worstChance:
			worst, worstChance = i, chance
		}
	}
	switch {
	case back >= 0:
		f.wrong[back] = false
	case worst >= 0 && named < f.mostWrong():
		f.wrong[worst] = true
	default:
		return false
	}
	return true
}

// chance is how likely a reading is to lie as far off as it does, by the others that
// are used. One that is off by too little to matter is likely.
//
// With e its residual by the fit to the others, g the move of its colour with the film
// and h the variance of the film there over that of a reading, e'(I + h g g')⁻¹e over
// three times the variance of a reading is Fisher's F.
func (f *fitter) chance(i int, at solved) float64 {
	others := f.without(i)
	if !f.wrong[i] {
		at = f.plain(others, at.numbers)
	}
	if !f.notable(f.data[i], at.numbers) {
		return 1
	}
	left := freedom(len(others), 2)
	variance := max(at.loss/left, leastScatter*leastScatter)
	lab, slope := f.path.at(at.film(f.data[i].volts))
	e := f.data[i].lab.minus(lab)
	h := at.inverse.spread(f.data[i].volts)
	along := e.times(slope)
	distance := e.times(e) - h*along*along/(1+h*slope.times(slope))
	return above(distance/(3*variance), 3, left)
}

// notable tells whether a reading is further off than the eye's least and than coupons
// scatter.
func (f *fitter) notable(d datum, n numbers) bool {
	lab, slope := f.path.at(n.film(d.volts))
	if colour.Difference(d.lab.lab(), lab.lab()) < leastWrongDE {
		return false
	}
	if steep := slope.times(slope); steep > 0 {
		most := couponScatter * n[1]
		lab = lab.along(slope, min(max(d.lab.minus(lab).times(slope)/steep, -most), most))
	}
	return d.lab.minus(lab).length() > math.Sqrt(3)*leastWrongDE/2
}
