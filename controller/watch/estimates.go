package watch

import (
	"math"

	"anodized/hal/unit"
)

// Estimates returns what the readings so far say.
func (w *Watch) Estimates() Estimates {
	i := w.medianI.value()
	left := w.decay.left
	return Estimates{
		LiveArea:          unit.SquareCentimetres(w.live.area),
		LiveAreaSD:        unit.SquareCentimetres(w.live.areaSD),
		Charge:            unit.Coulombs(w.charge.coulombs),
		ChargeKnown:       w.charge.started && !w.charge.unknown,
		ThicknessByVolts:  unit.Nanometres(w.thick),
		ThicknessByCharge: w.thicknessByCharge(),
		Density:           unit.Amperes(i).Over(w.area),
		Current:           unit.Amperes(i),
		Volts:             unit.Volts(w.medianV.value()),
		SeriesOhm:         unit.Ohms(w.ohms()),
		OnsetVolts:        unit.Volts(w.onset),
		Leak:              unit.Amperes(w.decay.leak),
		Softness:          w.decay.softness(),
		SecondsLeft:       unit.Seconds(left[1]),
		LeastLeft:         unit.Seconds(left[0]),
		MostLeft:          unit.Seconds(left[2]),
		Noise:             unit.Amperes(w.noiseI.sd()),
	}
}

// thicknessByCharge is on the declared area, upon the film that the regression finds
// was there before; not a number once charge is unknown.
func (w *Watch) thicknessByCharge() unit.Nanometres {
	if !w.charge.started || w.charge.unknown {
		return unit.Nanometres(math.NaN())
	}
	start := w.start
	if w.live.ok {
		start = max(0, w.live.film)
	}
	return unit.Nanometres(start + w.law.KF*w.law.Efficiency*w.charge.coulombs/w.decl)
}
