package watch_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// inSteps is what a meter of such a step shows.
func inSteps(amperes unit.Amperes, step float64) unit.Amperes {
	return unit.Amperes(math.Round(float64(amperes)/step) * step)
}

// TestAmperesThatStandStillInAHold: half a second after what really flows has moved more
// than three steps and a second has passed.
func TestAmperesThatStandStillInAHold(t *testing.T) {
	for _, from := range []float64{70.1, 71, 75, 80, 90} {
		t.Run(fmt.Sprint(from), func(t *testing.T) {
			shown, changed, due := unit.Amperes(math.NaN()), 0.0, math.NaN()
			stands := func(_ int, k *watch.Tick) {
				is, now := inSteps(k.Amperes, 0.001), float64(k.T)
				if now < from && is != shown {
					shown, changed = is, now
				}
				if moved := math.Abs(float64(k.Amperes - shown)); math.IsNaN(due) && moved > 0.003 && now >= changed+1-1e-9 {
					due = now
				}
				k.Amperes = shown
			}
			_, trip, at := seen(t, bench, stands)
			require.Equal(t, fault.ReadbackStuck, trip)
			t.Logf("due at %.1f s, told at %.1f s", due, at)
			assert.LessOrEqual(t, at, due+0.5+1e-9)
		})
	}
}

// TestCoarseAmperesAreNotStuck: steps of 1, 3 and 10 mA, to the end of a long hold, without
// noise that would move the last digit, beside a leak and beside a floor, and at a limit.
func TestCoarseAmperesAreNotStuck(t *testing.T) {
	for _, step := range []float64{0.001, 0.003, 0.01} {
		for name, floor := range map[string]func(k watch.Tick) unit.Amperes{
			"none":  func(watch.Tick) unit.Amperes { return 0 },
			"leak":  func(k watch.Tick) unit.Amperes { return unit.Amperes(k.Volts) / 1000 },
			"floor": func(watch.Tick) unit.Amperes { return 0.25 },
		} {
			t.Run(fmt.Sprint(name, step), func(t *testing.T) {
				b := bench
				b.AmpereStep = unit.Amperes(step)
				_, trip, at := seen(t, b, func(_ int, k *watch.Tick) {
					k.Limit = 10
					k.Amperes = inSteps(k.Amperes+floor(*k), step)
				})
				assert.NotEqual(t, fault.ReadbackStuck, trip, "at %v s", at)
			})
		}
	}
}
