package process

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// lost keeps the supply silent for some ticks of the ramp; what was set meanwhile
// does not arrive, and the read-back after it shows the setpoint from before.
func lost(t *testing.T, ticks int, after func(*tank, unit.Volts)) *tank {
	k := newTank(load())
	k.start(t, Ramping)
	for range 50 {
		k.tick()
	}
	before := k.out.Set
	k.before = func(k *tank) { k.in.Reading.OK, k.in.Held.OK = false, false }
	for range ticks {
		k.tick()
	}
	k.before = func(k *tank) { after(k, before) }
	k.tick()
	k.before = nil
	return k
}

func TestSetpointFromBeforeAGapIsNoKnobTurned(t *testing.T) {
	k := lost(t, 6, func(k *tank, before unit.Volts) {
		k.in.Held = Held{OK: true, Set: before, Limit: k.out.Limit, Output: OutputOn, At: k.in.Now}
	})
	assert.True(t, k.out.On, "trip %q", k.out.Trip)
	for range 30 {
		k.tick()
	}
	assert.True(t, k.out.On, "trip %q", k.out.Trip)
}

func TestKnobTurnedInAGapIsSeenAtTheNextReadBack(t *testing.T) {
	k := lost(t, 6, func(*tank, unit.Volts) {})
	k.before = func(k *tank) { k.in.Held.Set += 3 }
	for range 20 {
		k.tick()
	}
	assert.Equal(t, fault.SupplyTouched, k.out.Trip)
}

func TestOutputOffAfterAGapIsTheLostLink(t *testing.T) {
	k := lost(t, 6, func(k *tank, before unit.Volts) {
		k.in.Held = Held{OK: true, Set: before, Limit: k.out.Limit, Output: OutputOff, At: k.in.Now}
	})
	assert.Equal(t, fault.SupplySilent, k.out.Trip)
}

// TestOutputOffAfterALateTickIsAHand: a busy machine asked late, and the link lost nothing.
func TestOutputOffAfterALateTickIsAHand(t *testing.T) {
	k := newTank(load())
	k.start(t, Ramping)
	for range 30 {
		k.tick()
	}
	k.tickAfter(0.28)
	assert.True(t, k.out.On)
	k.before = func(k *tank) { k.in.Held.Output = OutputOff }
	for range 5 {
		k.tick()
	}
	assert.Equal(t, fault.SupplyTouched, k.out.Trip)
}
