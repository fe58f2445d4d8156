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

// By is the law that a plan has by another calibration, at its own temperature. What was
// on the parts and before them stays.
func (l Law) By(g profiles.Growth, c profiles.Calibration) Law {
	of := film.OfBath(g, c)
	l.I0, l.B, l.KF, l.Efficiency = of.I0, of.B, of.KF, of.Efficiency
	return l
}
