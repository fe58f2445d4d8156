package watch_test

import (
	"math"
	"testing"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
)

// lateness is by how much ticks of 0.1 s come late, s, in turn: a third of the readings are
// more than one and a half ticks apart, and the setpoint stands at those of more than two.
var lateness = [...]float64{0.02, 0.17, 0.05, 0.11, 0.19, 0.03, 0.14, 0.08, 0.16, 0.01, 0.13}

// busyCurve is the ramp to 70 V at 1 V/s and a hold of a minute on a computer that does other
// things beside; the last part of eight carries the film of so many nm.
func busyCurve(carries float64) []watch.Tick {
	p := reference()
	law := film.New(p.Law.I0, p.Law.B, p.Law.KF, 1)
	shares, nm := [...]float64{7. / 8, 1. / 8}, [...]float64{1.5, carries}
	volts, now, reached := 0.0, 0.0, math.NaN()
	var ticks []watch.Tick
	for n := 1; !(now > reached+60); n++ {
		at := max(now+0.02, float64(n)/10+lateness[n%len(lateness)])
		amperes := 0.0
		for range fine {
			amperes = 0
			for g, share := range shares {
				j := law.Density(unit.Volts(volts), unit.Nanometres(nm[g]))
				nm[g] += law.KF * float64(j) / 1000 * (at - now) / fine
				amperes += share * float64(j.At(p.Area))
			}
		}
		k := watch.Tick{T: unit.Seconds(at), OK: true, Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes), Set: unit.Volts(volts), Limit: 1, Phase: watch.PhaseRamp}
		if volts >= 70 {
			k.Phase = watch.PhaseHold
		}
		if ticks = append(ticks, k); math.IsNaN(reached) && volts >= 70 {
			reached = at
		}
		if at-now <= 0.2 {
			volts = min(70, volts+at-now)
		}
		now = at
	}
	return ticks
}

// busy runs such a curve, changed, until it trips or ends.
func busy(carries float64, changes ...change) (*watch.Watch, fault.Code) {
	w := watch.New(reference(), bench)
	for n, k := range busyCurve(carries) {
		for _, c := range changes {
			c(n, &k)
		}
		w.Update(k)
		if w.Trip() != "" {
			return w, w.Trip()
		}
	}
	w.Close(true, false)
	return w, ""
}

// TestLateTicksHideNoFault: across a short gap charge and current are known a little less,
// and what is judged by them is judged.
func TestLateTicksHideNoFault(t *testing.T) {
	bare := 1.5
	formed := 40 * film.New(reference().Law.I0, reference().Law.B, reference().Law.KF, 1).NMPerVolt(0.15)
	dips := []change{between(60, 60.25, 0.87), between(61, 61.25, 0.87), between(62, 62.25, 0.87), between(63, 63.25, 0.87)}
	for name, c := range map[string]struct {
		carries float64
		changes []change
		finding fault.Code
		trip    fault.Code
	}{
		"a leak":                {bare, []change{func(_ int, k *watch.Tick) { k.Amperes += unit.Amperes(k.Volts) / 2000 }}, fault.LeakPlateau, ""},
		"a film that dissolves": {bare, []change{func(_ int, k *watch.Tick) { k.Amperes += 0.035 }}, fault.FilmDissolving, ""},
		"a part that joins":     {formed, nil, fault.MixedRack, ""},
		"a loose contact":       {bare, dips, fault.ContactIntermittent, fault.ContactIntermittent},
		"sparks at the limit":   {bare, []change{sparksAtLimit(60, 61, 62)}, fault.Breakdown, fault.Breakdown},
	} {
		w, trip := busy(c.carries, c.changes...)
		assert.True(t, has(w, c.finding), name)
		assert.Equal(t, c.trip, trip, name)
	}
	w, trip := busy(bare)
	assert.Empty(t, trip)
	for _, code := range []fault.Code{fault.LeakPlateau, fault.FilmDissolving, fault.MixedRack, fault.ContactIntermittent, fault.Breakdown} {
		assert.False(t, has(w, code), code)
	}
	_, trip = busy(bare, sparksAtLimit(60, 61))
	assert.Empty(t, trip, "two falls are no three")
}

// sparksAtLimit takes the volts down for a moment at some times, while the limit regulates
// from 58 s on.
func sparksAtLimit(times ...float64) change {
	return func(_ int, k *watch.Tick) {
		if k.T < 58 || k.Phase == watch.PhaseHold {
			return
		}
		k.Limit, k.Limited = k.Amperes, true
		for _, at := range times {
			if t := float64(k.T); t > at && t < at+0.3 {
				k.Volts *= 0.97
			}
		}
	}
}
