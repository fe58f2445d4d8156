package watch_test

import (
	"math"
	"testing"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// change alters the ticks of a healthy curve.
type change func(n int, k *watch.Tick)

// seen runs a changed curve until it trips or ends.
func seen(t *testing.T, b watch.Bench, changes ...change) (w *watch.Watch, trip fault.Code, at float64) {
	t.Helper()
	w = watch.New(reference(), b)
	for n, k := range curve(reference()) {
		for _, c := range changes {
			c(n, &k)
		}
		w.Update(k)
		require.NotPanics(t, func() { w.Findings() })
		if w.Trip() != "" {
			return w, w.Trip(), float64(k.T)
		}
	}
	return w, "", math.NaN()
}

func has(w *watch.Watch, code fault.Code) bool {
	for _, f := range w.Findings() {
		if f.Code == code {
			return len(f.Evidence) > 0 && f.Action != "" && f.Confidence != ""
		}
	}
	return false
}

var bench = watch.Bench{Tick: 0.1, Settle: 0.15, VoltStep: 0.01, AmpereStep: 0.001}

// between scales the current within some seconds.
func between(from, to, factor float64) change {
	return func(_ int, k *watch.Tick) {
		if t := float64(k.T); t >= from-1e-9 && t < to-1e-9 {
			k.Amperes *= unit.Amperes(factor)
		}
	}
}

// TestVoltsThatStoodForASpoiltAnswerAreNoLooseContact: the setpoint waits for a reading that
// had to be asked for again, and the current sinks and comes back with the volts.
func TestVoltsThatStoodForASpoiltAnswerAreNoLooseContact(t *testing.T) {
	w := watch.New(reference(), bench)
	for n, k := range curve(reference())[:600] { // of the ramp
		switch n {
		case 51:
			k.Volts -= 0.09 // the step of the meter shows
		case 400:
			k.T, k.Volts, k.Amperes = k.T+0.059, k.Volts-0.1, k.Amperes*0.95
		case 401:
			k.Volts, k.Amperes = k.Volts-0.02, k.Amperes*0.98
		}
		w.Update(k)
	}
	assert.Empty(t, w.Trip())
	assert.False(t, has(w, fault.ContactIntermittent))
}

func TestHealthyCurveHasNoFindings(t *testing.T) {
	w, trip, _ := seen(t, bench)
	w.Close(true, false)
	assert.Empty(t, trip)
	require.Len(t, w.Findings(), 1)
	assert.True(t, has(w, fault.ContactNotProven), "kept on the record, not announced")
	assert.Equal(t, fault.Record, w.Findings()[0].Severity)
}

// lastDigit is that of a meter that moves: volts that climb by a tenth each tick, and
// show nothing below it, are those of a meter of a tenth.
func lastDigit(n int, k *watch.Tick) { k.Volts += unit.Volts(0.01 * float64(n*7%3-1)) }

func TestCurrentThatLeavesItsCourse(t *testing.T) {
	for name, c := range map[string]struct {
		changes []change
		trip    fault.Code
		by      float64 // s
	}{
		"one dip is a finding":           {[]change{between(40, 40.3, 0.88)}, "", 0},
		"two dips do not trip":           {[]change{between(40, 40.3, 0.88), between(43, 43.3, 0.88)}, "", 0},
		"three dips in ten seconds trip": {[]change{between(40, 40.3, 0.88), between(43, 43.3, 0.88), between(46, 46.3, 0.88)}, fault.ContactIntermittent, 46.5},
		"three dips far apart do not":    {[]change{between(30, 30.3, 0.88), between(42, 42.3, 0.88), between(54, 54.3, 0.88)}, "", 0},
		"dips in the hold":               {[]change{between(90, 90.3, 0.88), between(93, 93.3, 0.88), between(96, 96.3, 0.88)}, fault.ContactIntermittent, 96.5},
		"sparks":                         {[]change{between(40, 40.1, 1.3), between(40.5, 40.6, 1.5), between(41, 41.1, 1.2), between(41.6, 41.7, 1.4)}, fault.Breakdown, 42},
		"two sparks do not":              {[]change{between(40, 40.1, 1.3), between(41, 41.1, 1.2)}, "", 0},
		"a part is lost in the ramp":     {[]change{between(40, 150, 0.875)}, fault.ContactLost, 42},
		"a part is lost in the hold":     {[]change{between(90, 150, 0.875)}, fault.ContactLost, 91},
		"a rack half as good in a hold":  {[]change{between(90, 150, 0.5)}, fault.ContactLost, 90.6},
	} {
		t.Run(name, func(t *testing.T) {
			w, trip, at := seen(t, bench, append(c.changes, lastDigit)...)
			require.Equal(t, c.trip, trip)
			if c.trip != "" {
				assert.LessOrEqual(t, at, c.by)
				assert.True(t, has(w, c.trip))
			}
		})
	}
	w, _, _ := seen(t, bench, lastDigit, between(40, 40.3, 0.88), between(43, 43.3, 0.88))
	assert.True(t, has(w, fault.ContactIntermittent))
	w, _, _ = seen(t, bench, lastDigit, between(40, 40.3, 0.88))
	assert.True(t, has(w, fault.ContactIntermittent))
	w, _, _ = seen(t, bench, lastDigit, between(90, 90.3, 0.88))
	assert.False(t, has(w, fault.ContactIntermittent), "in a hold one may be the bend")
}

func TestDipsOfTheSupplyAreNoContact(t *testing.T) {
	droop := func(_ int, k *watch.Tick) {
		for _, from := range []float64{40, 43, 46} {
			if t := float64(k.T); t >= from && t < from+0.15 {
				k.Volts, k.Amperes = k.Volts*0.99, k.Amperes*0.78
			}
		}
	}
	w, trip, _ := seen(t, bench, droop)
	assert.Empty(t, trip)
	assert.False(t, has(w, fault.ContactIntermittent))
}

func TestCurrentThatRisesAtConstantVolts(t *testing.T) {
	climbs := func(_ int, k *watch.Tick) {
		if age := float64(k.T) - 90; age > 0 {
			k.Amperes += unit.Amperes(0.01 * age)
		}
	}
	_, trip, at := seen(t, bench, climbs)
	assert.Equal(t, fault.Breakdown, trip)
	assert.Less(t, at, 98.0)

	leaks := func(_ int, k *watch.Tick) {
		if k.T > 90 {
			k.Amperes += 0.07 // 1 kohm at 70 V, at once
		}
	}
	_, trip, _ = seen(t, bench, leaks)
	assert.Empty(t, trip, "a leak that begins steps up once")
}

func TestVoltsThatSagAtTheLimit(t *testing.T) {
	sags := func(_ int, k *watch.Tick) {
		if age := float64(k.T) - 50; age > 0 {
			k.Volts, k.Amperes, k.Limited, k.Phase = 48.5-unit.Volts(0.2*age), 1, true, watch.PhaseRamp
		}
	}
	_, trip, at := seen(t, bench, sags)
	assert.Equal(t, fault.Breakdown, trip)
	assert.Less(t, at, 52.0)

	climbs := func(_ int, k *watch.Tick) { // a part that regained contact
		if age := float64(k.T) - 50; age > 0 {
			k.Volts, k.Amperes, k.Limited, k.Phase = min(k.Volts, 45+unit.Volts(1.2*age)), 1, true, watch.PhaseRamp
			k.OK = age < 15 // before it stands at its target
		}
	}
	_, trip, at = seen(t, bench, climbs)
	assert.Empty(t, trip, "at %.1f s", at)
}

// stuck is a supply at its limit whose volts are those of a line, from a moment on.
func stuck(from float64, w **watch.Watch, volts func(amperes float64) float64, answers bool, phase watch.Phase) change {
	return func(_ int, k *watch.Tick) {
		if float64(k.T) < from {
			return
		}
		k.Limit, k.Limited, k.Phase, k.Set = 1, true, phase, k.Volts
		if answers && *w != nil && (*w).Probe() {
			k.Limit = 0.5
		}
		k.Amperes = k.Limit
		k.Volts = unit.Volts(volts(float64(k.Amperes)))
		k.Set = k.Volts + 0.5
	}
}

func TestTheSecondPointTellsWhatTakesTheCurrent(t *testing.T) {
	for name, c := range map[string]struct {
		volts   func(float64) float64
		answers bool
		phase   watch.Phase
		want    fault.Code
	}{
		"steel hook":                {func(i float64) float64 { return 1.8 + 7*i }, true, watch.PhaseContactCheck, fault.ForeignMetalWetted},
		"steel plates on plus":      {func(i float64) float64 { return 1.8 + 1.5*i }, true, watch.PhaseContactCheck, fault.PolaritySwapped},
		"a resistor of 8 ohm":       {func(i float64) float64 { return 8 * i }, true, watch.PhaseContactCheck, fault.ShortCircuit},
		"a leak at 40 V":            {func(i float64) float64 { return 40 * i }, true, watch.PhaseContactCheck, ""},
		"a film that stands":        {func(i float64) float64 { return 30 + i }, true, watch.PhaseRamp, fault.Breakdown},
		"no answer, a few volts":    {func(i float64) float64 { return 1.8 + 7*i }, false, watch.PhaseContactCheck, fault.ForeignMetalWetted},
		"no answer, a lot of volts": {func(i float64) float64 { return 40 * i }, false, watch.PhaseContactCheck, ""},
	} {
		t.Run(name, func(t *testing.T) {
			w := watch.New(reference(), bench)
			alter, trip, at := stuck(0, &w, c.volts, c.answers, c.phase), fault.Code(""), 0.0
			for n, k := range curve(reference())[:300] {
				alter(n, &k)
				w.Update(k)
				if w.Trip() != "" {
					trip, at = w.Trip(), float64(k.T)
					break
				}
			}
			require.Equal(t, c.want, trip)
			assert.LessOrEqual(t, at, 5.2)
		})
	}
}

func TestMetalThatFallsInWhileTheVoltsAreHeld(t *testing.T) {
	var w *watch.Watch
	p := reference()
	w = watch.New(p, bench)
	falls, trip, at := stuck(100, &w, func(i float64) float64 { return 2 + 10.5*i }, true, watch.PhaseHold), fault.Code(""), 0.0
	for n, k := range curve(p) {
		k.Volts, k.Set = k.Volts/5, k.Set/5 // a hold at 14 V, where no film sparks
		falls(n, &k)
		w.Update(k)
		if trip = w.Trip(); trip != "" {
			at = float64(k.T)
			break
		}
	}
	assert.Equal(t, fault.ForeignMetalWetted, trip)
	assert.Less(t, at, 104.0)
}

func TestPartsThatJoinLater(t *testing.T) {
	joins := func(at, width, share float64) change {
		return func(_ int, k *watch.Tick) {
			grown := 1 / (1 + math.Exp(-(float64(k.Volts)-at*1.12)/width))
			k.Amperes *= unit.Amperes(1 - share + share*grown)
			k.Limit = 10
		}
	}
	w, trip, _ := seen(t, bench, joins(31, 1.2, 0.125))
	assert.Empty(t, trip)
	require.True(t, has(w, fault.MixedRack))
	w, _, _ = seen(t, bench, func(_ int, k *watch.Tick) { k.Amperes += unit.Amperes(k.Volts) / 1000; k.Limit = 10 })
	assert.False(t, has(w, fault.MixedRack), "a leak goes on rising with the volts")
}

func TestFloorsAreALeakOrAFilmThatDissolves(t *testing.T) {
	close := func(c change) *watch.Watch {
		w, trip, _ := seen(t, bench, c, func(_ int, k *watch.Tick) { k.Limit = 10 })
		require.Empty(t, trip)
		w.Close(true, false)
		return w
	}
	leak := close(func(_ int, k *watch.Tick) { k.Amperes += unit.Amperes(k.Volts) / 2000 })
	assert.True(t, has(leak, fault.LeakPlateau))
	assert.False(t, has(leak, fault.FilmDissolving), "the ramp shows it, too")
	side := close(func(_ int, k *watch.Tick) { k.Amperes += 0.035 })
	assert.True(t, has(side, fault.FilmDissolving))
	assert.True(t, has(side, fault.LeakPlateau), "neither is certain")
}

func TestVoltsThatStandWhileTheSetpointWaits(t *testing.T) {
	waits := func(_ int, k *watch.Tick) {
		if k.T > 40 && k.T < 60 {
			k.Volts, k.Set, k.Amperes = 40+unit.Volts(0.01*float64(int(k.T*10)%2)), 40.5, 0.66/(1+unit.Amperes(k.T-40)/1.6)
		}
	}
	_, trip, at := seen(t, bench, waits)
	assert.Equal(t, fault.SupplyNotFollowing, trip)
	assert.InDelta(t, 42.3, at, 0.4, "0.3 V ahead, and then as long as a mains dip")
}

func TestTheBathsTemperature(t *testing.T) {
	with := func(celsius func(t float64) (float64, bool)) *watch.Watch {
		p := reference()
		p.BathWindow.Law, p.BathWindow.Least, p.BathWindow.Most = 20, 15, 25
		w := watch.New(p, bench)
		for _, k := range curve(p) {
			c, ok := celsius(float64(k.T))
			k.Bath, k.BathOK = unit.Celsius(c), ok
			w.Update(k)
		}
		return w
	}
	steady := with(func(float64) (float64, bool) { return 20.9, true })
	assert.Empty(t, steady.Findings())
	assert.True(t, has(with(func(float64) (float64, bool) { return 21.1, true }), fault.BathTemperatureOutside))
	assert.True(t, has(with(func(t float64) (float64, bool) { return 19.7 + 0.006*t, true }), fault.BathTemperatureDrift))
	assert.True(t, has(with(func(t float64) (float64, bool) { return 20, t < 60 }), fault.BathTemperatureUnknown))
	assert.False(t, has(with(func(t float64) (float64, bool) { return 20, t < 100 }), fault.BathTemperatureUnknown))
	jump := with(func(t float64) (float64, bool) {
		if t > 50 {
			return 85, true
		}
		return 20, true
	})
	assert.False(t, has(jump, fault.BathTemperatureDrift), "a jump is the thermometer's")
	assert.True(t, has(jump, fault.BathTemperatureUnknown))
}

func TestCurrentWhereNoneCanFlow(t *testing.T) {
	w, _, _ := seen(t, bench, func(_ int, k *watch.Tick) {
		k.Phase, k.Amperes = watch.PhaseContactCheck, -0.02
	})
	assert.True(t, has(w, fault.CurrentOffset))
	for offset, want := range map[unit.Amperes]bool{0.001: false, 0.006: false, 0.012: true, -0.012: true} {
		w := watch.New(reference(), bench)
		for range 5 {
			w.After(offset)
		}
		w.Rested()
		assert.Equal(t, want, has(w, fault.CurrentOffset), "%v A", offset)
	}
	w = watch.New(reference(), bench)
	w.After(0.01)
	w.Rested()
	assert.False(t, has(w, fault.CurrentOffset), "one reading is none")
}

func TestAReadingTooCoarseForTheEnd(t *testing.T) {
	for step, want := range map[unit.Amperes]bool{0.005: false, 0.006: false, 0.007: true} {
		w := watch.New(reference(), watch.Bench{Tick: 0.1, AmpereStep: step})
		assert.Equal(t, want, has(w, fault.ReadbackTooCoarse), "%v A", step)
	}
}

func TestWhatNeverDrewCurrentWasNotLost(t *testing.T) {
	old := func(_ int, k *watch.Tick) { // formed before to some twenty volts, by a hand that did not say so
		if k.Volts < 20 {
			k.Amperes = 0
		}
	}
	_, trip, at := seen(t, bench, old, func(_ int, k *watch.Tick) {
		if k.T > 30 {
			k.Amperes = 0
		}
	})
	assert.Equal(t, fault.ContactLost, trip)
	assert.Greater(t, at, 30.0)
}

func TestAShortLeavesNoSeriesResistance(t *testing.T) {
	w, trip, _ := seen(t, bench, func(_ int, k *watch.Tick) {
		if k.T >= 40 {
			k.Volts, k.Amperes, k.Limited = 1, k.Limit, true
		}
	})
	require.Equal(t, fault.ShortCircuit, trip)
	assert.True(t, math.IsNaN(float64(w.Summary().SeriesOhm)), "%v ohm", w.Summary().SeriesOhm)
	assert.True(t, math.IsNaN(float64(w.Estimates().SeriesOhm)))
}

func TestPlatesOnPlusBelowTheLimit(t *testing.T) {
	at := func(begins, ohm float64) (fault.Code, float64) {
		p := reference()
		p.ContactCheck = plan.ContactCheck{Volts: 8, Ramp: 0.5, NoContact: 0.02}
		p.Law.Series = 10
		w := watch.New(p, bench)
		for n := 1; n <= 160; n++ {
			volts := 0.05 * float64(n)
			w.Update(watch.Tick{T: unit.Seconds(n) / 10, OK: true, Phase: watch.PhaseContactCheck, Set: unit.Volts(volts), Limit: 10,
				Volts: unit.Volts(volts), Amperes: unit.Amperes(max(0, (volts-begins)/ohm))})
			if w.Trip() != "" {
				return w.Trip(), volts
			}
		}
		return "", math.NaN()
	}
	code, volts := at(1.8, 10)
	assert.Equal(t, fault.PolaritySwapped, code)
	assert.Less(t, volts, 8.0)
	code, _ = at(1.8, 12.5)
	assert.Equal(t, fault.PolaritySwapped, code, "a bath that resists a quarter more than believed")
	code, _ = at(0, 10)
	assert.Empty(t, code, "a resistor begins at no volts")
}

// TestARackThatGoesOutForAMoment: all of the current goes and is back two readings later.
func TestARackThatGoesOutForAMoment(t *testing.T) {
	w, trip, at := seen(t, bench, between(40, 40.2, 0), between(41, 41.1, 0), between(42, 42.2, 0), between(43, 43.1, 0))
	assert.Equal(t, fault.ContactIntermittent, trip)
	assert.True(t, has(w, fault.ContactIntermittent))
	assert.InDelta(t, 42.2, at, 0.05, "the third")
	w, trip, _ = seen(t, bench, between(100, 100.2, 0))
	assert.Empty(t, trip)
	assert.False(t, has(w, fault.ContactIntermittent), "one reading of a hold proves nothing")
	sinks := func(_ int, k *watch.Tick) { // the mains dip, and the volts with them
		if k.T > 39.95 && k.T < 40.15 {
			k.Volts, k.Amperes = 0.5*k.Volts, 0
		}
	}
	w, trip, _ = seen(t, bench, sinks)
	assert.Empty(t, trip)
	assert.False(t, has(w, fault.ContactIntermittent), "the volts went, too")
}

func TestSparksThatTheCurrentLimitHides(t *testing.T) {
	sparks := func(times ...float64) change {
		return func(_ int, k *watch.Tick) {
			if k.T < 50 {
				return
			}
			k.Limit, k.Limited, k.Phase = k.Amperes, true, watch.PhaseRamp // what the growth draws
			for _, at := range times {
				if t := float64(k.T); t > at && t < at+0.25 {
					k.Volts *= 0.97
				}
			}
		}
	}
	_, trip, at := seen(t, bench, sparks(52, 53, 54))
	assert.Equal(t, fault.Breakdown, trip)
	assert.Less(t, at, 54.3)
	w, trip, _ := seen(t, bench, sparks(52, 53, 60))
	assert.Empty(t, trip, "a part that regains contact pulls the volts down once")
	assert.False(t, has(w, fault.Breakdown))
}

// TestAContactThatReopensBesideALeakIsNoSpark: what nothing grows from begins in one jump and
// stays, and each reopening comes back to it.
func TestAContactThatReopensBesideALeakIsNoSpark(t *testing.T) {
	beside := func(from, to float64, amperes unit.Amperes) change {
		return func(_ int, k *watch.Tick) {
			if s := float64(k.T); s >= from-1e-9 && s < to-1e-9 {
				k.Amperes += amperes
			}
		}
	}
	leak := beside(90, 150, 0.04)
	for name, c := range map[string]struct {
		changes []change
		trip    fault.Code
	}{
		"contact": {[]change{leak, beside(90.6, 91.6, -0.025), beside(92, 92.3, -0.025)}, ""},
		"sparks":  {[]change{leak, beside(90.6, 90.7, 0.03), beside(91.2, 91.3, 0.05), beside(91.8, 91.9, 0.04)}, fault.Breakdown},
	} {
		t.Run(name, func(t *testing.T) {
			_, trip, at := seen(t, bench, append(c.changes, lastDigit, until(94))...)
			assert.Equal(t, c.trip, trip, "at %.1f s", at)
		})
	}
}
