package match

import (
	"math"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// Basis is what films and volts are reckoned by.
type Basis struct {
	Surface  *colour.Surface
	Scale    colour.Scale    // at the end that the pieces are run to
	SlopeSD  float64         // of its nanometres per volt
	OffsetSD unit.Nanometres // of its offset
	Relation float64         // correlation of the two, -1 to 1
}

// Piece is a piece whose colour was measured after a run.
type Piece struct {
	Name     string
	Measured colour.Lab
	Volts    unit.Volts // of its last run, above 0
	Before   []Reading  // of the same piece, after its earlier runs
}

// Reading is a colour and the volts of the run before it.
type Reading struct {
	Measured colour.Lab
	Volts    unit.Volts
}

// Film is the film of a piece by its colour.
type Film struct {
	Thickness unit.Nanometres
	SD        unit.Nanometres // of one reading
	Residual  float64         // CIEDE2000 between the reading and that film
	Expected  unit.Nanometres // by the volts
	Doubt     string          // why it is not to be trusted; "" where it is
}

const (
	// UsualSD is the standard deviation of a reading where nothing else is known, of
	// each axis of CIELAB: a good instrument on one spot, common practice, no source.
	UsualSD = 0.3
	// mostResidual is what the film's colour may differ from the reading.
	mostResidual = 3
	// widest is how far from the expected film one is looked for at most: less than
	// the 56 nm that part bright from dark of the next order at 550 nm.
	widest unit.Nanometres = 45
	// apart are two films that both fit; within, one dip's noise.
	apart unit.Nanometres = 8
)

// Film returns the film of a piece: the one whose colour is nearest, around what its
// volts let expect. readingSD is that of an axis.
func (b Basis) Film(p Piece, readingSD float64) Film {
	expected := b.Scale.Thickness(p.Volts)
	reach := b.reach(p.Volts)
	dips := b.Surface.Dips(p.Measured, expected-reach, expected+reach)
	best := dips[0]
	f := Film{Thickness: best.Thickness, Residual: best.DE00, Expected: expected}
	f.SD = unit.Nanometres(max(readingSD, b.across(p.Measured, best.Thickness)) / b.Surface.Slope(best.Thickness))
	f.Doubt = doubt(dips, expected-reach, expected+reach)
	return f
}

// reach is how far from the expected film the volts leave room.
func (b Basis) reach(v unit.Volts) unit.Nanometres {
	slope, offset := b.SlopeSD*float64(v), float64(b.OffsetSD)
	sd := math.Sqrt(max(0, slope*slope+offset*offset+2*b.Relation*slope*offset))
	return min(widest, max(colour.Around, unit.Nanometres(5*sd)))
}

// across is the distance of a reading from the line of films, as the deviation of an
// axis: where the constants do not quite describe the surface, the reading says less
// of the film, too. The line takes one of three directions.
func (b Basis) across(measured colour.Lab, d unit.Nanometres) float64 {
	here := b.Surface.Lab(d)
	l, a, bb := measured.L-here.L, measured.A-here.A, measured.B-here.B
	return math.Sqrt((l*l + a*a + bb*bb) / 2)
}

func doubt(dips []colour.Dip, low, high unit.Nanometres) string {
	const edge = 0.3
	best := dips[0]
	switch {
	case !(best.DE00 <= mostResidual):
		return "no film near these volts has this colour: another finish or metal, grease, or a calibration that is not of this surface"
	case best.Thickness > edge && best.Thickness < low+edge, best.Thickness > high-edge:
		return "the volts and the colour do not agree: is this the piece of that run, and the calibration of this bath?"
	}
	for _, other := range dips[1:] {
		if other.DE00 < max(best.DE00+0.5, 1) && max(other.Thickness-best.Thickness, best.Thickness-other.Thickness) > apart {
			return "two films near these volts have this colour: measure in better light, or make a ladder"
		}
	}
	return ""
}
