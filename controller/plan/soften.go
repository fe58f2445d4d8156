package plan

import (
	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Softened is the law with another softness at a current density, above 0, and the same
// nm per volt there.
func (l Law) Softened(softness float64, at unit.CurrentDensity) Law {
	own := film.New(l.I0, l.B, l.KF, l.Efficiency)
	other := film.OfBath(profiles.Growth{}, profiles.Calibration{NMPerVolt: own.NMPerVolt(at), EndCurrentDensity: at, Softness: softness})
	l.I0, l.B = other.I0, other.B
	return l
}
