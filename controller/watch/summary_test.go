package watch_test

import (
	"math"
	"testing"

	"anodized/controller/watch"

	"github.com/stretchr/testify/assert"
)

// What ended in the ramp ended at its last reading, and a dip before the end takes
// nothing from what was formed.
func TestEndOfARampIsItsLastReading(t *testing.T) {
	p := reference()
	w := watch.New(p, watch.Bench{Tick: 0.1})
	for _, k := range curve(p)[:300] {
		w.Update(k)
	}
	w.Update(watch.Tick{T: 30.05, Phase: watch.PhaseOff})
	assert.InDelta(t, 30, float64(w.Summary().EndVolts), 1e-9)
	assert.InDelta(t, 29.8, float64(w.Summary().HighestVolts), 1e-9, "the median of five readings is two behind")
}

func TestEndOfAHoldIsTheMeanOfItsLastSecond(t *testing.T) {
	p := reference()
	w := watch.New(p, watch.Bench{Tick: 0.1})
	ticks := curve(p)
	for n, k := range ticks {
		if n%2 == 0 {
			k.Volts += 0.2
		}
		w.Update(k)
	}
	assert.InDelta(t, 70.1, float64(w.Summary().EndVolts), 0.011)
	assert.InDelta(t, 70.2, float64(w.Summary().HighestVolts), 0.01)
	w = watch.New(p, watch.Bench{Tick: 0.1})
	for _, k := range ticks[:703] { // three readings of the hold, each 70 V
		w.Update(k)
	}
	assert.InDelta(t, 70, float64(w.Summary().EndVolts), 1e-9, "the ramp before has no part in it")
}

// A rack that was coloured before draws nothing below its old volts, which the
// regression of series resistance and area has no place for.
func TestOldFilmGivesNoSeriesResistance(t *testing.T) {
	for _, old := range []float64{0, 20} {
		p := reference()
		p.Law.Series = 3
		w := watch.New(p, watch.Bench{Tick: 0.1})
		for _, k := range curve(p) {
			if float64(k.Volts) < old {
				k.Amperes = 0
			}
			w.Update(k)
		}
		assert.Equal(t, old > 0, math.IsNaN(float64(w.Summary().SeriesOhm)), "old film of %v V: %v", old, w.Findings())
		assert.Equal(t, old > 0, math.IsNaN(float64(w.Estimates().SeriesOhm)))
	}
}
