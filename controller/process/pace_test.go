package process

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

func TestStallBetweenLidAndDecisionIsTheControlsOwn(t *testing.T) {
	k, took := after(t, Ramping, 10, func(k *tank) {
		k.in.Interlock.At = k.in.Now - 0.7 // read in this tick, closed, and then the process stood still
	})
	assert.Equal(t, fault.ControlAbsent, k.out.Trip)
	assert.LessOrEqual(t, took, 0.1+1e-6)

	k, _ = after(t, Ramping, 10, func(k *tank) { k.in.Interlock.OK = false })
	assert.Equal(t, fault.InterlockOpen, k.out.Trip, "a module that does not answer is the lid's")
}

func TestSilenceIsCountedToTheEndOfTheWait(t *testing.T) {
	last := 0.0
	k, _ := after(t, Ramping, 10, func(k *tank) {
		if last == 0 {
			last = k.now - 0.1
		}
		k.in.Reading.OK = false
		k.in.Looked = unit.Seconds(k.now + 0.3)
	})
	assert.Equal(t, fault.SupplySilent, k.out.Trip)
	assert.InDelta(t, 0.8, k.now-last, 0.11, "the tick that waited until 1.0 s have passed is the one that trips")
}

func TestOutputStuckOnAsksForNoCurrentEither(t *testing.T) {
	k := newTank(load())
	k.start(t, Holding)
	k.stuckOn = true
	k.before = func(k *tank) { k.out.Set = 70 }
	k.in.Event = Stop
	k.tick()
	require.Equal(t, fault.OutputStuckOn, k.untilEnd(t).Trip)
	assert.Zero(t, k.out.Limit)
	assert.Zero(t, k.out.Set)
}

func TestLinkMustBeMeasuredAndQuickEnough(t *testing.T) {
	k := newTank(load())
	k.in.Pace = PaceUnmeasured
	k.in.Event = Start
	k.tick()
	for k.now < 5 {
		require.Equal(t, Checking, k.tick().State)
	}
	require.NotZero(t, k.out.Reasons&LinkUnmeasured)
	require.True(t, k.loop.Pace(0.2))
	k.in.Pace = PaceKept
	for !k.out.On {
		k.tick()
		require.Less(t, k.now, 12.0)
	}
	assert.InDelta(t, 0.2, float64(k.loop.Bench().Tick), 1e-12, "the watch of the run knows the tick")
	assert.False(t, k.loop.Pace(0.1), "not while it is on")

	k = newTank(load())
	k.in.Pace = PaceTooSlow
	k.in.Event = Start
	assert.Equal(t, Refused, k.untilEnd(t).State)
	assert.NotZero(t, k.out.Reasons&LinkTooSlow)
}

// TestRampKeepsItsPaceOnSlowTicks: five ticks a second climb as fast as ten.
func TestRampKeepsItsPaceOnSlowTicks(t *testing.T) {
	k := newTank(load())
	require.True(t, k.loop.Pace(0.2))
	k.in.Event = Start
	for k.out.State != Ramping {
		k.tickAfter(0.2)
		require.Less(t, k.now, 60.0)
	}
	began, from := k.now, float64(k.out.Set)
	for range 100 {
		k.tickAfter(0.2)
	}
	require.True(t, k.out.On, "trip %q", k.out.Trip)
	assert.InDelta(t, k.now-began, float64(k.out.Set)-from, 0.25, "1 V/s")
	k.tickAfter(0.9)
	assert.True(t, k.out.On)
	k.tickAfter(1.1)
	assert.Equal(t, fault.ControlAbsent, k.out.Trip)
}
