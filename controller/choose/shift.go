package choose

import (
	"math"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// Shift is a film seen in another way.
type Shift struct {
	Illuminant   string
	AngleDegrees float64
	Lab          colour.Lab // against the white of that illuminant
	Name         string
	Screen       colour.Screen
	DE00         float64 // from the film as it was asked for
	HueDegrees   float64 // by which the hue turns, above -180 to 180; 0 where either is grey
	Renamed      bool    // another name, and far enough to see without a comparison
}

// renamedDE00 is the difference below which a change of name is only the edge of one.
const renamedDE00 = 3.0

// shifts are what becomes of a film in some ways of looking.
func (e *Eye) shifts(d unit.Nanometres, ways []way) []Shift {
	before := e.surface.Lab(d)
	found := make([]Shift, len(ways))
	for i, w := range ways {
		lab := w.surface.Lab(d)
		s := Shift{Illuminant: w.illuminant, AngleDegrees: w.angle, Lab: lab, Name: lab.LCh().Name(),
			Screen: w.surface.Screen(d), DE00: colour.Difference(before, lab), HueDegrees: turn(before.LCh(), lab.LCh())}
		s.Renamed = s.Name != before.LCh().Name() && s.DE00 >= renamedDE00
		found[i] = s
	}
	return found
}

// turn is the way from one hue to another, the short way round.
func turn(from, to colour.LCh) float64 {
	if from.Grey() || to.Grey() {
		return 0
	}
	return math.Remainder(to.H-from.H, 360)
}
