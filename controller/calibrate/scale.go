package calibrate

import (
	"math"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// When the readings themselves ask for the scale of the index: the gain by Schwarz's
// criterion is very strong (above 10; R. E. Kass, A. E. Raftery, J. Am. Stat. Assoc. 90 (1995)
// 773, from memory), the scale is well known and plainly not 1, and what is left is what
// readings scatter by. Misfit that a scale only hides is no reason.
const (
	strongGain     = 10
	wellKnown      = 0.01 // of the scale
	plainlyNot     = 3    // standard deviations
	leftOverAtMost = 1.0  // CIELAB an axis
	insideBounds   = 0.005
	resolution     = 0.01 // CIELAB: what readings are written to
)

// withScale fits the scale of the index too, where that is asked for or where the
// readings support it. The readings are then weeded once more.
func (f *fitter) withScale(at solved) (fitted, error) {
	two := fitted{at, 2, false}
	used := f.used()
	if f.ladder.Scale == ScaleFixed || freedom(len(used), 3) < 1 {
		return two, nil
	}
	three, err := f.free(at.numbers)
	if err != nil || f.ladder.Scale == ScaleByReadings && !supported(at, three, len(used)) {
		return two, err
	}
	surface, err := f.ladder.surface(three.numbers[2])
	if err != nil {
		return two, err
	}
	f.path = newPath(surface, float64(len(f.path.labs)-1))
	f.weed(three.numbers)
	three, err = f.free(three.numbers)
	return fitted{three, 3, true}, err
}

// supported tells whether the readings ask for the scale.
func supported(two, three solved, readings int) bool {
	values, left := float64(3*readings), freedom(readings, 3)
	variance := three.loss / left
	sd := math.Sqrt(variance * three.inverse[2][2])
	scale := three.numbers[2]
	least := values * resolution * resolution
	gain := values*math.Log((two.loss+least)/(three.loss+least)) - math.Log(values)
	return gain > strongGain && sd < wellKnown && math.Abs(scale-1) > plainlyNot*sd &&
		math.Sqrt(variance) < leftOverAtMost && scale > leastScale+insideBounds && scale < mostScale-insideBounds
}

func (f *fitter) free(from numbers) (solved, error) {
	m := &scaleModel{ladder: f.ladder}
	at := solver{m, 3, f.knee, f.slope}.solve(f.used(), from)
	return at, m.err
}

// scaleModel is a model whose scale moves: it works out a surface for each.
type scaleModel struct {
	ladder   Ladder
	scale    float64
	surfaces [3]*colour.Surface // a little below, at, and above
	err      error
}

const (
	littleScale = 1e-4
	littleFilm  = 1e-3 // nm
)

func (m *scaleModel) at(volts float64, n numbers) (lab, byFilm, byScale vector) {
	m.look(n[2])
	if m.err != nil {
		return vector{}, vector{}, vector{}
	}
	film := math.Max(0, n.film(volts))
	at := func(k int, d float64) vector { return vectorOf(m.surfaces[k].Lab(unit.Nanometres(d))) }
	below := math.Max(0, film-littleFilm)
	lab = at(1, film)
	byFilm = scaled(at(1, film+littleFilm).minus(at(1, below)), 1/(film+littleFilm-below))
	return lab, byFilm, scaled(at(2, film).minus(at(0, film)), 1/(2*littleScale))
}

// look works out the surfaces of a scale, unless they are there.
func (m *scaleModel) look(scale float64) {
	if m.err != nil || m.surfaces[1] != nil && m.scale == scale {
		return
	}
	m.scale = scale
	for k := range m.surfaces {
		if m.surfaces[k], m.err = m.ladder.surface(scale + float64(k-1)*littleScale); m.err != nil {
			return
		}
	}
}
