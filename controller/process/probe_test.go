package process

import (
	"testing"

	"anodized/controller/fault"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheSecondPointIsAtHalfTheLimitAndNoLonger(t *testing.T) {
	for _, state := range []State{ContactCheck, Ramping, Holding} {
		k := newTank(load())
		k.start(t, state)
		m := k.loop.machine
		whole := m.limit
		m.probe(&Seen{Probe: true})
		assert.Equal(t, whole/2, m.limit, "%v", state)
		m.probe(&Seen{Probe: true})
		assert.Equal(t, whole/2, m.limit, "%v: once, not again and again", state)
		m.probe(&Seen{})
		assert.Equal(t, whole, m.limit, "%v", state)
	}
}

// A leak that takes the whole limit is no electrolysis and no short: the run goes on
// to its own end, with the limit as it was.
func TestALeakAtTheLimitIsProbedAndGoesOn(t *testing.T) {
	k := newTank(load())
	k.start(t, Ramping)
	k.leak = 40
	least := k.out.Limit
	for range 600 {
		k.tick()
		if k.out.State != Ramping {
			break
		}
		least = min(least, k.out.Limit)
	}
	assert.Empty(t, k.out.Trip)
	assert.Equal(t, load().CurrentLimit/2, least)
	assert.Equal(t, load().CurrentLimit, k.out.Limit)
}

func TestAZeroThatMovedIsToldAfterTheRun(t *testing.T) {
	k := newTank(load())
	k.start(t, Ramping)
	k.in.Event = Stop
	k.tick()
	require.Equal(t, Discharging, k.out.State)
	k.before = func(k *tank) { k.in.Reading.Amperes, k.in.Held = unit.Amperes(0.02), Held{} } // off is not read back yet
	for range 12 {
		k.tick()
	}
	k.before = func(k *tank) { k.in.Reading.Amperes = 0.02 }
	for range 20 {
		k.tick()
	}
	require.Equal(t, Stopped, k.out.State)
	found := false
	for _, f := range k.loop.Findings() {
		found = found || f.Code == fault.CurrentOffset
	}
	assert.True(t, found)
}

// TestACurrentThatStillFlowsIsNoZero: a supply that does not go off, and a reading that
// stands still, would else send a person to the zero of the meter.
func TestACurrentThatStillFlowsIsNoZero(t *testing.T) {
	for name, c := range map[string]struct {
		before func(*tank)
		trip   fault.Code
	}{
		"stuck on":       {func(k *tank) { k.stuckOn = true }, fault.OutputStuckOn},
		"reading stands": {func(k *tank) { k.in.Reading.Volts, k.in.Reading.Amperes = 30, 0.68 }, fault.ReadbackStuck},
	} {
		t.Run(name, func(t *testing.T) {
			k := newTank(load())
			k.start(t, Ramping)
			for k.volts < 30 {
				k.tick()
			}
			k.before = c.before
			if c.trip == fault.OutputStuckOn {
				k.in.Event = Stop
			}
			for range 100 {
				k.tick()
			}
			require.Equal(t, Tripped, k.out.State)
			require.Equal(t, c.trip, k.out.Trip)
			for _, found := range k.loop.Findings() {
				assert.NotEqual(t, fault.CurrentOffset, found.Code, "%v", found.Evidence)
			}
		})
	}
}
