package watch_test

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
)

// atTheLimit is a film that 0.25 A grow at a third of a volt a second until it is at 60 V,
// where some volts are lost at once; then it grows as before, or stands.
func atTheLimit(lost, then float64) (trip fault.Code, at float64) {
	p := reference()
	p.CurrentLimit, p.CurrentDensity = 0.25, 1.25
	p.Stages[0].CurrentLimit = p.CurrentLimit
	w, volts := watch.New(p, bench), 20.0
	for n := 1; n <= 1500; n++ {
		t, rate := 0.1*float64(n), 0.33
		if t > 121 {
			rate = then
		}
		if volts += 0.1 * rate; n == 1211 {
			volts -= lost
		}
		limit := unit.Amperes(0.25)
		if w.Probe() {
			limit /= 2
		}
		read := volts - 0.1*float64(n%3) - 2*float64(0.25-limit) // a meter of coarse steps, and a bath of 2 ohm
		w.Update(watch.Tick{T: unit.Seconds(t), OK: true, Volts: unit.Volts(read), Amperes: limit, Set: unit.Volts(volts + 1),
			Limit: limit, Limited: true, Phase: watch.PhaseRamp})
		if w.Trip() != "" {
			return w.Trip(), t
		}
	}
	return "", 0
}

func TestVoltsThatFellOnceAndRise(t *testing.T) {
	for _, lost := range []float64{0, 0.5, 0.7, 1} {
		trip, at := atTheLimit(lost, 0.33)
		assert.Empty(t, trip, "%.1f V lost at once, told at %.1f s", lost, at)

		trip, at = atTheLimit(lost, 0)
		assert.Equal(t, fault.Breakdown, trip, "%.1f V lost, and no film grows", lost)
		assert.Less(t, at, 121+4.5, "%.1f V lost, and no film grows", lost)
	}
}
