package calibrate

import (
	"cmp"
	"math"
	"slices"

	"anodized/controller/colour"
)

// fitter is a ladder while it is fitted. Its data stand in an order of their own, so
// that the order of the readings changes nothing.
type fitter struct {
	ladder Ladder
	order  []int // of the readings, as data stand
	data   []datum
	slope  Range // that is searched: wider than what counts as possible
	path   *path
	wrong  []bool // of the data
	knee   float64
	starts []numbers // where solvers came to rest with all readings, best first
}

// searched is how far beyond the possible nm per volt are looked for: an impossible
// answer is to be seen and said, not pressed to the edge.
const searched = 1.2

func newFitter(l Ladder) (*fitter, error) {
	f := &fitter{ladder: l, knee: firstKnee, slope: Range{Least: l.Range.Least / searched, Most: l.Range.Most * searched}}
	f.order = make([]int, len(l.Readings))
	for i := range f.order {
		f.order[i] = i
	}
	slices.SortStableFunc(f.order, func(i, j int) int { return compared(l.Readings[i], l.Readings[j]) })
	highest := 0.0
	for _, i := range f.order {
		f.data = append(f.data, datum{l.atEnd(l.Readings[i]), vectorOf(l.Readings[i].Lab)})
		highest = max(highest, f.data[len(f.data)-1].volts)
	}
	f.wrong = make([]bool, len(f.data))
	surface, err := l.surface(1)
	if err != nil {
		return nil, err
	}
	f.path = newPath(surface, f.slope.Most*highest+mostOffset)
	return f, nil
}

func compared(a, b Reading) int {
	return cmp.Or(cmp.Compare(a.Volts, b.Volts), cmp.Compare(a.Lab.L, b.Lab.L), cmp.Compare(a.Lab.A, b.Lab.A),
		cmp.Compare(a.Lab.B, b.Lab.B), cmp.Compare(a.End, b.End), cmp.Compare(a.Spot, b.Spot))
}

func (l Ladder) surface(scale float64) (*colour.Surface, error) {
	daylight := l.Light
	return colour.NewSurface(l.Film, l.Substrate, l.Observer, l.Light, colour.Options{IndexScale: scale, Daylight: &daylight})
}

// used are the data that are not wrong.
func (f *fitter) used() []datum { return f.without(-1) }

// without are the data that are not wrong, less one.
func (f *fitter) without(one int) []datum {
	kept := make([]datum, 0, len(f.data))
	for i, d := range f.data {
		if !f.wrong[i] && i != one {
			kept = append(kept, d)
		}
	}
	return kept
}

// The knee of Huber's weights is at four times what readings scatter by an axis, and at 2
// CIELAB at least.
const (
	firstKnee = 2
	kneeSigma = 4
)

// settle finds where solvers come to rest with all readings.
func (f *fitter) settle() {
	var from []numbers
	for _, place := range starts(f.path, f.data, f.slope) {
		from = append(from, place.numbers)
	}
	for _, at := range f.basins(f.data, from) {
		f.starts = append(f.starts, at.numbers)
	}
}

// basins are where solvers come to rest from some starts, best first, each once.
func (f *fitter) basins(data []datum, from []numbers) []solved {
	s := solver{pathModel{f.path}, 2, f.knee, f.slope}
	var found []solved
	for _, n := range from {
		at := s.solve(data, n)
		if !slices.ContainsFunc(found, func(other solved) bool { return sameBasin(at.numbers, other.numbers) }) {
			found = append(found, at)
		}
	}
	slices.SortStableFunc(found, func(a, b solved) int { return cmp.Compare(a.loss, b.loss) })
	return found
}

// sameBasin tells numbers apart by the film of fifty volts: a nanometre is a fiftieth of
// an order.
func sameBasin(a, b numbers) bool {
	return math.Abs(a.film(50)-b.film(50)) < 1 && math.Abs(a[1]-b[1]) < 0.02
}

// freedom is how many values are left to show the scatter.
func freedom(readings, free int) float64 { return float64(3*readings - free) }
