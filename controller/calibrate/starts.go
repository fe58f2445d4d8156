package calibrate

import (
	"cmp"
	"math"
	"slices"
)

// The scan for starts: every order of interference has a minimum of its own, and only
// the best of them is the right one.
const (
	filmStride   = 2   // nm, at the highest volts: a fiftieth of an order
	offsetStride = 1.5 // nm
	farEnough    = 15  // CIELAB: a reading that is further off counts as this
	mostStarts   = 6
)

// start is a place of the scan.
type start struct {
	numbers
	loss float64
}

// starts are the dips of the scan over nm per volt, best first. The loss of a reading
// is capped, so that a wrong one has little say.
func starts(p *path, data []datum, slope Range) []start {
	highest := 1.0
	for _, d := range data {
		highest = max(highest, d.volts)
	}
	var profile []start
	for a := slope.Least; a <= slope.Most; a += filmStride / highest {
		profile = append(profile, bestOffset(p, data, a))
	}
	var dips []start
	for i, here := range profile {
		if (i == 0 || here.loss < profile[i-1].loss) && (i+1 == len(profile) || here.loss <= profile[i+1].loss) {
			dips = append(dips, here)
		}
	}
	slices.SortStableFunc(dips, func(a, b start) int { return cmp.Compare(a.loss, b.loss) })
	return dips[:min(len(dips), mostStarts)]
}

func bestOffset(p *path, data []datum, slope float64) start {
	best := start{loss: math.Inf(1)}
	for offset := -3.0; offset <= 10; offset += offsetStride {
		n, loss := numbers{offset, slope, 1}, 0.0
		for _, d := range data {
			off := d.lab.minus(p.lab(n.film(d.volts)))
			loss += min(off.times(off), farEnough*farEnough)
		}
		if loss < best.loss {
			best = start{n, loss}
		}
	}
	return best
}
