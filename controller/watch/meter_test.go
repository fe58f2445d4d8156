package watch_test

import (
	"math"
	"testing"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/watch"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// course is a supply that ramps and holds, and a meter that looks at the same cell: late,
// seldom, and with what is wrong with it.
type course struct {
	rate         float64 // V/s
	target       float64 // V
	supplyLag    float64 // s
	every, delay float64 // s: between readings of the meter, and until they are known
	shows        func(t, volts float64) (float64, bool)
	moved        profiles.Watch
}

// run gives the course to a watch and returns when it tripped (NaN: never) and what was found.
func (c course) run(seconds float64) (tripped float64, w *watch.Watch) {
	w = watch.New(plan.Plan{Area: 200, TargetVolts: unit.Volts(c.target), Stages: []plan.Stage{{Ramp: unit.VoltsPerSecond(c.rate)}}, Watch: c.moved},
		watch.Bench{Tick: 0.1, Settle: 0.15, VoltStep: 0.01, AmpereStep: 0.001, Voltmeter: true, MeterSettle: 0.3})
	tripped = math.NaN()
	at := func(t float64) float64 { return math.Max(0, math.Min(c.target, c.rate*t)) }
	var meter watch.Meter
	for n := range int(seconds * 10) {
		t := float64(n) / 10
		if asked := math.Floor((t-c.delay)/c.every) * c.every; asked >= 0 {
			if volts, ok := c.shows(asked, at(asked)); ok {
				meter = watch.Meter{OK: true, Volts: unit.Volts(volts), T: unit.Seconds(asked)}
			}
		}
		phase, amperes := watch.PhaseRamp, 0.5
		if held := t - c.target/c.rate; held >= 0 {
			phase, amperes = watch.PhaseHold, 0.5/(1+held/3)
		}
		w.Update(watch.Tick{T: unit.Seconds(t), OK: true, Volts: unit.Volts(at(t - c.supplyLag)), Amperes: unit.Amperes(amperes), Set: unit.Volts(at(t)), Limit: 1,
			Phase: phase, Meter: meter})
		if w.Trip() == fault.ReadbackDisagrees && math.IsNaN(tripped) {
			tripped = t
		}
	}
	return tripped, w
}

func codes(w *watch.Watch) (all []fault.Code) {
	for _, f := range w.Findings() {
		all = append(all, f.Code)
	}
	return all
}

func times(gain float64) func(t, v float64) (float64, bool) {
	return func(_, v float64) (float64, bool) { return gain * v, true }
}

// TestAgeIsNoDisagreement: in a ramp a reading that is half a second old is half a second
// of ramp away from the supply's of now; compared at its own moment it is none.
func TestAgeIsNoDisagreement(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := course{rate: rapid.Float64Range(0.1, 5).Draw(t, "rate"), target: rapid.Float64Range(10, 110).Draw(t, "target"),
			supplyLag: rapid.Float64Range(0, 0.15).Draw(t, "supply lag"), every: rapid.Float64Range(0.25, 0.5).Draw(t, "every"),
			delay: rapid.Float64Range(0, 0.5).Draw(t, "delay")}
		off := rapid.Float64Range(-0.15, 0.15).Draw(t, "off")
		c.shows = func(_, v float64) (float64, bool) { return v + off, true }
		tripped, w := c.run(60)
		if !math.IsNaN(tripped) {
			t.Fatalf("tripped at %v s", tripped)
		}
		for _, code := range codes(w) {
			if code == fault.ReadbackGain || code == fault.VoltmeterUnknown {
				t.Fatalf("found %s", code)
			}
		}
	})
}

func healthyCourse() course {
	return course{rate: 1, target: 70, supplyLag: 0.15, every: 0.4, delay: 0.2, shows: times(1)}
}

// TestDisagreementTripsAndGainIsFound: over 1 % for a second trips; over 0.5 % for five
// seconds is told, and ends nothing.
func TestDisagreementTripsAndGainIsFound(t *testing.T) {
	c := healthyCourse()
	c.shows = func(t, v float64) (float64, bool) {
		if t > 80 {
			v *= 1.02
		}
		return v, true
	}
	tripped, w := c.run(100)
	assert.InDelta(t, 82.2, tripped, 0.7, "a second after the first reading that shows it")
	assert.Contains(t, codes(w), fault.ReadbackDisagrees)
	require.Contains(t, w.Findings()[0].Evidence[0], "71.40 V where the supply reads 70.00 V")

	c.shows = func(t, v float64) (float64, bool) {
		if t > 80 {
			v -= 0.5
		}
		return v, true
	}
	tripped, w = c.run(100)
	assert.True(t, math.IsNaN(tripped), "0.5 V of 70 V is below 1 %")
	require.Equal(t, []fault.Code{fault.ReadbackGain}, codes(w))
	assert.InDelta(t, 80.4, w.Findings()[0].AtSeconds, 0.5)
	assert.Contains(t, w.Findings()[0].Evidence[0], "69.50 V where the supply reads 70.00 V")
	_, w = c.run(84)
	assert.Empty(t, w.Findings(), "not before five seconds")
}

// TestAShortDisagreementIsNone: a probe that slips for half a second.
func TestAShortDisagreementIsNone(t *testing.T) {
	c := healthyCourse()
	c.shows = func(t, v float64) (float64, bool) {
		if t > 80 && t < 80.7 {
			return 0, true
		}
		return v, true
	}
	tripped, w := c.run(100)
	assert.True(t, math.IsNaN(tripped))
	assert.Empty(t, w.Findings())
}

// TestAGainIsFoundInTheRamp already, where it is large enough to be told from lag.
func TestAGainIsFoundInTheRamp(t *testing.T) {
	c := healthyCourse()
	c.shows = times(0.95)
	tripped, _ := c.run(100)
	assert.Less(t, tripped, 25.0)
}

// TestABlindMeterIsTold, once, and trips nothing.
func TestABlindMeterIsTold(t *testing.T) {
	c := healthyCourse()
	c.shows = func(t, v float64) (float64, bool) { return v, t < 30 }
	tripped, w := c.run(100)
	assert.True(t, math.IsNaN(tripped))
	require.Equal(t, []fault.Code{fault.VoltmeterUnknown}, codes(w))
	assert.InDelta(t, 32, w.Findings()[0].AtSeconds, 0.6)
	c.shows = func(float64, float64) (float64, bool) { return 0, false }
	_, w = c.run(100)
	require.Equal(t, []fault.Code{fault.VoltmeterUnknown}, codes(w), "and one that never said anything")
}

// TestNothingIsComparedAcrossAPause: while the supply said nothing its volts jumped, and
// nobody knows when.
func TestNothingIsComparedAcrossAPause(t *testing.T) {
	w := watch.New(plan.Plan{Area: 200, TargetVolts: 70}, watch.Bench{Tick: 0.1, Settle: 0.15, VoltStep: 0.01, AmpereStep: 0.001,
		Voltmeter: true, MeterSettle: 0.3})
	for n := range 300 {
		now, volts := unit.Seconds(n)/10, unit.Volts(20)
		if n > 150 {
			volts = 60
		}
		w.Update(watch.Tick{T: now, OK: n < 135 || n > 165, Volts: volts, Set: volts, Limit: 1, Phase: watch.PhaseRamp,
			Meter: watch.Meter{OK: true, Volts: volts, T: now}})
		require.NotEqual(t, fault.ReadbackDisagrees, w.Trip(), now)
	}
	assert.NotContains(t, codes(w), fault.ReadbackGain)
}
