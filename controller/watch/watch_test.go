package watch_test

import (
	"math"
	"testing"

	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/watch"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// curve is a healthy ramp and hold by the growth law: 200 cm², 1 V/s to 70 V in
// steps of 0.1 V, read at the end of each step, no series resistance.
func curve(p plan.Plan) []watch.Tick {
	law := film.New(p.Law.I0, p.Law.B, p.Law.KF, 1)
	x, ticks := 1.5, []watch.Tick{}
	for n := 1; n <= 1500; n++ {
		volts, phase := math.Min(70, float64(n)*0.1), watch.PhaseRamp
		if n >= 700 {
			phase = watch.PhaseHold
		}
		amperes := 0.0
		for range fine {
			j := law.Density(unit.Volts(volts), unit.Nanometres(x))
			x += law.KF * float64(j) / 1000 * 0.1 / fine
			amperes = float64(law.Density(unit.Volts(volts), unit.Nanometres(x)).At(p.Area))
		}
		ticks = append(ticks, watch.Tick{T: unit.Seconds(float64(n) / 10), OK: true, Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes),
			Set: unit.Volts(volts), Limit: 1, Phase: phase})
	}
	return ticks
}

const fine = 100 // steps of the integration in a tick

func reference() plan.Plan {
	end := plan.End{CurrentDensity: 0.15, Current: 0.03, Sustained: 5, LongestHold: 180}
	return plan.Plan{Area: 200, Parts: 8, SmallestPart: 25, TargetVolts: 70, CurrentDensity: 5, CurrentLimit: 1, End: end,
		Law:    plan.Law{I0: 6e-14, B: 4.5e-6, KF: 530.6107, Efficiency: 1, NativeFilm: 1.5},
		Stages: []plan.Stage{{TargetVolts: 70, Ramp: 1, CurrentLimit: 1, End: end}}}
}

func BenchmarkWatch(b *testing.B) {
	p := reference()
	ticks := curve(p)
	w := watch.New(p, watch.Bench{Tick: 0.1, Settle: 0.15, VoltStep: 0.01, AmpereStep: 0.001})
	n := 0
	b.ReportAllocs()
	for b.Loop() {
		if n == len(ticks) {
			n = 0
			b.StopTimer()
			w = watch.New(p, watch.Bench{Tick: 0.1, Settle: 0.15, VoltStep: 0.01, AmpereStep: 0.001})
			b.StartTimer()
		}
		w.Update(ticks[n])
		n++
	}
}

func TestGapMakesChargeUnknownAndSaysSo(t *testing.T) {
	p := reference()
	w := watch.New(p, watch.Bench{Tick: 0.1})
	for _, k := range curve(p) {
		if k.T < 30 || k.T > 30.9 {
			w.Update(k)
		}
	}
	e := w.Estimates()
	assert.False(t, e.ChargeKnown)
	assert.True(t, math.IsNaN(float64(e.ThicknessByCharge)))
	assert.True(t, math.IsNaN(float64(w.Summary().Charge)))
	require.NotEmpty(t, w.Findings())
	assert.EqualValues(t, "record-gap", w.Findings()[0].Code)
}

func TestReplayGivesTheSameNumbersBitForBit(t *testing.T) {
	p := reference()
	run := func() watch.Summary {
		w := watch.New(p, watch.Bench{Tick: 0.1})
		for _, k := range curve(p) {
			w.Update(k)
		}
		return w.Summary()
	}
	assert.Equal(t, run(), run())
}

func TestUpdateAllocatesNothing(t *testing.T) {
	p := reference()
	ticks := curve(p)
	w := watch.New(p, watch.Bench{Tick: 0.1})
	n := 0
	require.Zero(t, testing.AllocsPerRun(1400, func() { w.Update(ticks[n]); n++ }))
}

func TestLiveAreaFollowsTheTrueArea(t *testing.T) {
	for _, factor := range []float64{0.5, 0.78, 1, 1.56, 2} {
		p := reference()
		w := watch.New(p, watch.Bench{Tick: 0.1})
		for _, k := range curve(p) {
			k.Amperes *= unit.Amperes(factor)
			k.Limit = 10
			w.Update(k)
		}
		// The density enters as its logarithm on the declared area: a factor of two is 2.8 %.
		assert.InEpsilon(t, 200*factor, float64(w.Summary().LiveArea), 0.002+math.Abs(math.Log(factor))/24, "factor %v", factor)
	}
}
