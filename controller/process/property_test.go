package process

import (
	"math"
	"testing"

	"anodized/controller/fault"
	"anodized/hal/unit"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// anyFloat draws numbers that instruments should never send as well as plain ones.
var anyFloat = rapid.OneOf(rapid.Float64Range(-5, 130), rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 9.91e37, 0}))

// TestDisorder throws any events, readings, gaps and lid positions at a run in any
// state. Whatever comes, the invariants hold.
func TestDisorder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := newTank(load())
		k.lidOpens, k.lidCloses = 0.2, 0.4
		for range 15 {
			k.tick()
		}
		k.in.Event = Start
		for range rapid.IntRange(0, 400).Draw(t, "healthy ticks") {
			k.tick()
		}
		k.before = func(k *tank) { disorder(t, k) }
		for range rapid.IntRange(1, 60).Draw(t, "ticks") {
			was := k.out
			k.tickAfter(rapid.SampledFrom([]float64{0.1, 0.1, 0.1, 0.13, 0.5, 2}).Draw(t, "gap"))
			invariants(t, k, was)
		}
	})
}

func disorder(t *rapid.T, k *tank) {
	if rapid.IntRange(0, 9).Draw(t, "event") == 0 {
		k.in.Event = Event(rapid.IntRange(0, 7).Draw(t, "which"))
	}
	if rapid.IntRange(0, 5).Draw(t, "reading") == 0 {
		k.in.Reading.OK = rapid.Bool().Draw(t, "read")
		k.in.Reading.Volts = unit.Volts(anyFloat.Draw(t, "volts"))
		k.in.Reading.Amperes = unit.Amperes(anyFloat.Draw(t, "amperes"))
	}
	if rapid.IntRange(0, 9).Draw(t, "lid") == 0 {
		k.in.Interlock.Closed = [2]bool{rapid.Bool().Draw(t, "a"), rapid.Bool().Draw(t, "b")}
		k.in.Interlock.OK = rapid.Bool().Draw(t, "lid read")
	}
	k.in.Durable = k.in.Durable && rapid.Bool().Draw(t, "durable")
}

func invariants(t *rapid.T, k *tank, was Command) {
	out, p := k.out, k.loop.plan
	require.False(t, math.IsNaN(float64(out.Set)) || out.Set < 0 || out.Set > p.CeilingVolts, "setpoint %v", out.Set)
	require.LessOrEqual(t, out.Limit, p.CurrentLimit)
	require.Equal(t, out.On, out.State.Energised(), "output on in %v", out.State)
	lid := k.in.Interlock
	if lid.OK && !(lid.Closed[0] && lid.Closed[1]) {
		require.False(t, out.On, "on with an open lid")
	}
	if out.On && !was.On {
		require.True(t, was.Intent && k.given.Durable, "on without a durable intent")
	}
	if out.Trip != "" {
		_, known := fault.TripByCode(out.Trip)
		require.True(t, known, "trip %q is not in the table", out.Trip)
	}
	if was.State == Tripped && k.given.Event != Acknowledge {
		require.Equal(t, Tripped, out.State, "a trip stays latched")
	}
	require.False(t, was.State.Energised() && out.State == Complete, "complete without discharging")
}

// TestInterlockOffAtTheTickThatSeesIt opens the lid at a random moment of a run.
func TestInterlockOffAtTheTickThatSeesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := newTank(load())
		k.lidOpens, k.lidCloses = 0.2, 0.4
		for range 15 {
			k.tick()
		}
		k.in.Event = Start
		for range rapid.IntRange(0, 500).Draw(t, "ticks") {
			k.tick()
		}
		channel := rapid.IntRange(0, 2).Draw(t, "channel")
		k.before = func(k *tank) {
			if channel != 1 {
				k.in.Interlock.Closed[0] = false
			}
			if channel != 0 {
				k.in.Interlock.Closed[1] = false
			}
		}
		for range 3 {
			require.False(t, k.tick().On)
		}
	})
}

func TestStepAllocatesNothing(t *testing.T) {
	k := newTank(load())
	k.start(t, Holding)
	require.Zero(t, testing.AllocsPerRun(100, func() { k.loop.Tick(&k.in) }))
}

func BenchmarkStep(b *testing.B) {
	for _, state := range []State{Ramping, Holding} {
		b.Run(state.String(), func(b *testing.B) {
			k := newTank(load())
			for k.out.State != state {
				if k.now > 1 && k.out.State == Idle {
					k.in.Event = Start
				}
				k.tick()
			}
			for range 200 {
				k.tick()
			}
			machine, seen := *k.loop.machine, k.loop.seen
			b.ReportAllocs()
			for b.Loop() {
				m := machine
				m.Step(&k.in, &seen)
			}
		})
	}
}
