package watch_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/plan"
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

// slow is a load whose limit lets a film grow by a twenty-fifth of a volt in a second, up to
// 15 V. Its hold begins a fifth of a volt before.
func slow() (p plan.Plan, ticks []watch.Tick) {
	const goal, density = 15, 0.15
	p = reference()
	p.TargetVolts, p.CurrentDensity, p.CurrentLimit = goal, density, unit.CurrentDensity(density).At(p.Area)
	p.Stages[0].TargetVolts, p.Stages[0].CurrentLimit = goal, p.CurrentLimit
	law, x, phase := film.New(p.Law.I0, p.Law.B, p.Law.KF, 1), 10.0, watch.PhaseRamp
	for n := range 4500 {
		volts := min(goal, law.Volts(unit.Nanometres(x), density))
		if volts >= goal-0.2 {
			phase = watch.PhaseHold
		}
		j := min(density, law.Density(volts, unit.Nanometres(x)))
		for range fine {
			x += law.KF * float64(min(density, law.Density(volts, unit.Nanometres(x)))) / 1000 * 0.1 / fine
		}
		ticks = append(ticks, watch.Tick{T: unit.Seconds(n+1) / 10, OK: true, Volts: inVolts(volts+unit.Volts(0.01*float64(n*7%3-1)), 0.05),
			Amperes: inSteps(j.At(p.Area), 0.001), Set: min(goal, volts+0.3), Limit: p.CurrentLimit, Limited: volts < goal, Phase: phase})
	}
	return p, ticks
}

func inVolts(volts unit.Volts, step float64) unit.Volts {
	return unit.Volts(math.Round(float64(volts)/step) * step)
}

// TestAmperesThatTheLimitHoldsAreNotStuck: until the volts of the hold are there. What stands
// still from then on is.
func TestAmperesThatTheLimitHoldsAreNotStuck(t *testing.T) {
	p, ticks := slow()
	for name, c := range map[string]struct {
		stands bool
		told   fault.Code
	}{
		"and then die away": {false, ""},
		"and then stand":    {true, fault.ReadbackStuck},
	} {
		t.Run(name, func(t *testing.T) {
			w, held, arrived := watch.New(p, bench), math.NaN(), math.NaN()
			for _, k := range ticks {
				if k.Phase == watch.PhaseHold && math.IsNaN(held) {
					held = float64(k.T)
				}
				if !k.Limited && math.IsNaN(arrived) {
					arrived = float64(k.T)
				}
				if c.stands && k.Phase == watch.PhaseHold {
					k.Amperes = inSteps(p.CurrentLimit, 0.001)
				}
				w.Update(k)
				if w.Trip() != "" {
					t.Logf("held from %.1f s, there at %.1f s, told at %.1f s", held, arrived, k.T)
					require.False(t, math.IsNaN(arrived), "told before: %s", w.Trip())
					assert.LessOrEqual(t, float64(k.T), arrived+25) // half of it would have died away
					break
				}
			}
			assert.Equal(t, c.told, w.Trip())
		})
	}
}
