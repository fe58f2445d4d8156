package watch

import (
	"math"

	"anodized/hal/unit"
)

// SoftnessAt is the softness u of the growth law at a current density, from the decay of
// the hold; not a number before there is one. The decay tells it at the density with
// which the hold began; from there u goes with the logarithm of the density, so a share
// of the area that nobody knows hardly counts: 25 % of area is 0.2 of 24.
func (w *Watch) SoftnessAt(j unit.CurrentDensity) float64 {
	began := w.decay.current / w.decl * 1000 // mA/cm²
	if !(began > 0) || !(j > 0) {
		return math.NaN()
	}
	return w.decay.softness() + math.Log(float64(j)/began)
}
