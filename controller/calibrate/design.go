package calibrate

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// Wish is a ladder that is still to be made.
type Wish struct {
	From, To unit.Volts // that the calibration is for
	Coupons  int
	Step     unit.Volts // of the supply's setpoint; 0 is half a volt
	// What is believed of the constants now; the volts are chosen for all that is
	// within the spread. A spread of 0 is ±20 % and ±3 nm: nothing but a book.
	NMPerVolt, Spread float64
	Offset, Apart     unit.Nanometres
}

// Design is the volts of a ladder, and what it is expected to tell.
type Design struct {
	Volts []unit.Volts // rising
	// Standard deviations where readings scatter by 0.5 CIELAB an axis, the root of the
	// mean variance over what is believed of the constants.
	NMPerVoltSD       float64
	OffsetSD, FilmSD  unit.Nanometres // FilmSD: of the film, over the range
	EvenFilmSD        unit.Nanometres // of a ladder of even steps
	Least             unit.Volts      // that two coupons are apart
	criterion, evenly float64
}

// The bounds of a ladder.
const (
	LeastCoupons = 3
	MostCoupons  = 40
	usualScatter = 0.5 // CIELAB an axis, of a reading
	usualStep    = 0.5 // V
	mostPlaces   = 400
)

// ErrWish is wrapped where no ladder can be as it is wished for.
var ErrWish = errors.New("no such ladder")

func (w Wish) check() error {
	switch {
	case w.Coupons < LeastCoupons || w.Coupons > MostCoupons:
		return fmt.Errorf("plan a ladder: %w: %d coupons, from %d to %d make one", ErrWish, w.Coupons, LeastCoupons, MostCoupons)
	case !(w.From > 0 && w.To > w.From && w.To <= mostVolts):
		return fmt.Errorf("plan a ladder: %w: from %v to %v; volts rise, from above 0 V to %v at most", ErrWish, w.From, w.To, mostVolts)
	case !(w.NMPerVolt > 0) || math.IsInf(w.NMPerVolt, 0) || w.Spread < 0 || w.Spread >= w.NMPerVolt/2 || w.Step < 0:
		return fmt.Errorf("plan a ladder: %w: %g nm/V with a spread of %g, steps of %v", ErrWish, w.NMPerVolt, w.Spread, w.Step)
	case float64(w.To-w.From) < w.stride()*float64(w.Coupons-1):
		return fmt.Errorf("plan a ladder: %w: %d coupons do not go between %v and %v in steps of %g V", ErrWish, w.Coupons, w.From, w.To, w.stride())
	}
	return nil
}

// stride is the distance of the places that coupons may have: half a volt, or more
// where the supply's steps are coarser or the range is long, in whole steps of it.
func (w Wish) stride() float64 {
	stride := math.Max(usualStep, float64(w.To-w.From)/mostPlaces)
	if step := float64(w.Step); step > 0 {
		stride = step * math.Ceil(stride/step-1e-9)
	}
	return stride
}

// designer weighs places by how much a coupon there tells, for each of the constants
// that are believed possible.
type designer struct {
	places  []float64   // volts
	telling [][]float64 // by constants, then place: squared slope of the colour over the variance of a reading
	mean    matrix      // of (1, V)(1, V)' over the range
	apart   int         // places that two coupons are apart at least
	widest  int         // and at most
}

// Plan chooses the volts: the least mean variance of the film over the range, in the
// mean over the constants, and over the loss of any one coupon, which may turn out
// wrong. Coupons stand from a quarter of even steps to one and a half apart: they must
// also tell the orders apart, and show where the law or the optical tables are not those
// of this surface.
//
// It is exchange from even steps (V. V. Fedorov, Theory of Optimal Experiments, 1972,
// from memory), so it is never worse than those.
func Plan(s *colour.Surface, w Wish) (Design, error) {
	if err := w.check(); err != nil {
		return Design{}, err
	}
	d := newDesigner(s, w)
	even := d.even(w.Coupons)
	chosen := slices.Clone(even)
	best := d.criterion(chosen)
	for range 50 {
		before := best
		for k := range chosen {
			best = d.exchange(chosen, k, best)
		}
		if !(best < before*(1-1e-6)) {
			break
		}
	}
	return d.design(chosen, even), nil
}

func newDesigner(s *colour.Surface, w Wish) *designer {
	d := &designer{}
	stride := w.stride()
	first := stride * math.Ceil(float64(w.From)/stride-1e-9)
	for v := first; v <= float64(w.To)+1e-9; v += stride {
		d.places = append(d.places, v)
	}
	step := float64(len(d.places)-1) / float64(w.Coupons-1)
	d.apart, d.widest = max(1, int(step/4)), int(math.Ceil(1.5*step))
	for _, n := range w.believed() {
		row := make([]float64, len(d.places))
		for i, v := range d.places {
			slope := s.Slope(unit.Nanometres(math.Max(0, n.film(v))))
			row[i] = slope * slope / (usualScatter * usualScatter)
		}
		d.telling = append(d.telling, row)
	}
	for _, v := range d.places {
		d.mean[0][0] += 1 / float64(len(d.places))
		d.mean[0][1] += v / float64(len(d.places))
		d.mean[1][1] += v * v / float64(len(d.places))
	}
	return d
}

// believed are the constants that the volts are chosen for.
func (w Wish) believed() (all []numbers) {
	spread, apart := w.Spread, float64(w.Apart)
	if spread == 0 {
		spread = 0.1 * w.NMPerVolt
	}
	if apart == 0 {
		apart = 1.5
	}
	for _, a := range []float64{-2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2} {
		for _, o := range []float64{-1.5, 0, 1.5} {
			all = append(all, numbers{float64(w.Offset) + o*apart, w.NMPerVolt + a*spread, 1})
		}
	}
	return all
}

// even are places in even steps.
func (d *designer) even(coupons int) []int {
	at := make([]int, coupons)
	for k := range at {
		at[k] = int(math.Round(float64(k*(len(d.places)-1)) / float64(coupons-1)))
	}
	return at
}

// exchange moves one coupon to its best place, and returns the criterion.
func (d *designer) exchange(chosen []int, k int, best float64) float64 {
	home := chosen[k]
	for place := range d.places {
		if !d.free(chosen, k, place) {
			continue
		}
		before := chosen[k]
		chosen[k] = place
		if here := d.criterion(chosen); here < best*(1-1e-9) {
			best, home = here, place
		} else {
			chosen[k] = before
		}
	}
	chosen[k] = home
	return best
}

// free tells whether a coupon may stand at a place, beside the others.
func (d *designer) free(chosen []int, k, place int) bool {
	others := slices.Clone(chosen)
	others[k] = place
	slices.Sort(others)
	last := len(d.places) - 1
	if others[0] > d.widest/2 || last-others[len(others)-1] > d.widest/2 {
		return false
	}
	for i := 1; i < len(others); i++ {
		if gap := others[i] - others[i-1]; gap < d.apart || gap > d.widest {
			return false
		}
	}
	return true
}

// criterion is the mean variance of the film in nm²: half of it with all coupons, half
// with any one of them lost.
func (d *designer) criterion(chosen []int) float64 {
	sum := 0.0
	for _, telling := range d.telling {
		whole := d.information(telling, chosen)
		lost := 0.0
		for _, k := range chosen {
			lost += d.variance(less(whole, telling[k], d.places[k]))
		}
		sum += d.variance(whole)/2 + lost/float64(2*len(chosen))
	}
	return sum / float64(len(d.telling))
}

func (d *designer) information(telling []float64, chosen []int) (sum matrix) {
	for _, k := range chosen {
		sum = less(sum, -telling[k], d.places[k])
	}
	return sum
}

func less(m matrix, telling, volts float64) matrix {
	m[0][0] -= telling
	m[0][1] -= telling * volts
	m[1][1] -= telling * volts * volts
	return m
}

// variance is the mean of (1, V) M⁻¹ (1, V)' over the range.
func (d *designer) variance(m matrix) float64 {
	whole := m[0][0]*m[1][1] - m[0][1]*m[0][1]
	if !(whole > 1e-9*m[0][0]*m[1][1]) {
		return 1e12
	}
	return (d.mean[0][0]*m[1][1] - 2*d.mean[0][1]*m[0][1] + d.mean[1][1]*m[0][0]) / whole
}

func (d *designer) design(chosen, even []int) Design {
	out := Design{criterion: d.criterion(chosen), evenly: d.criterion(even), Least: unit.Volts(float64(d.apart) * (d.places[1] - d.places[0]))}
	var slope, offset, film, ofEven float64
	for _, telling := range d.telling {
		m := d.information(telling, chosen)
		whole := m[0][0]*m[1][1] - m[0][1]*m[0][1]
		slope, offset = slope+m[0][0]/whole, offset+m[1][1]/whole
		film += d.variance(m)
		ofEven += d.variance(d.information(telling, even))
	}
	root := func(sum float64) float64 { return math.Sqrt(sum / float64(len(d.telling))) }
	out.NMPerVoltSD, out.OffsetSD = root(slope), unit.Nanometres(root(offset))
	out.FilmSD, out.EvenFilmSD = unit.Nanometres(root(film)), unit.Nanometres(root(ofEven))
	for _, k := range chosen {
		out.Volts = append(out.Volts, unit.Volts(math.Round(d.places[k]*1e6)/1e6))
	}
	slices.SortFunc(out.Volts, func(a, b unit.Volts) int { return cmp.Compare(a, b) })
	return out
}
