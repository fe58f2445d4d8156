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
