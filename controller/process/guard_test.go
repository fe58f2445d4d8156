package process

import (
	"math"
	"testing"

	"anodized/controller/fault"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// after runs a healthy load to some seconds after a state, then applies a change
// before every tick, and returns the command of the tick that is not energised.
func after(t *testing.T, state State, seconds float64, change func(*tank)) (*tank, float64) {
	t.Helper()
	k := newTank(load())
	k.start(t, state)
	for range int(seconds * 10) {
		k.tick()
	}
	require.True(t, k.out.On)
	k.before = change
	began := k.now
	for k.out.On {
		k.tick()
		require.Less(t, k.now, began+80, "nothing switched off")
	}
	return k, k.now - began
}

func open(k *tank) { k.in.Interlock.Closed = [2]bool{false, false} }

func TestTrips(t *testing.T) {
	for _, c := range []struct {
		name   string
		state  State
		wait   float64
		change func(*tank)
		code   fault.Code
		within float64 // s from the moment of the fault
	}{
		{"lid opened in the contact check", ContactCheck, 3, open, fault.InterlockOpen, 0.1},
		{"lid opened in the ramp", Ramping, 10, open, fault.InterlockOpen, 0.1},
		{"lid opened in the hold", Holding, 10, open, fault.InterlockOpen, 0.1},
		{"one channel opened", Ramping, 10, func(k *tank) { k.in.Interlock.Closed[1] = false }, fault.InterlockOpen, 0.1},
		{"interlock cannot be read", Ramping, 10, func(k *tank) { k.in.Interlock.OK = false }, fault.InterlockOpen, 0.7},
		{"no reading", Ramping, 10, func(k *tank) { k.in.Reading.OK = false }, fault.SupplySilent, 1.2},
		{"reading is not a number", Ramping, 10, func(k *tank) { k.in.Reading.Volts = unit.Volts(math.NaN()) }, fault.SupplySilent, 1.2},
		{"reading is absurd", Ramping, 10, func(k *tank) { k.in.Reading.Volts = 9.9e37 }, fault.SupplySilent, 1.2},
		{"reply out of step", Ramping, 10, func(k *tank) { k.in.Link = fault.SupplyOutOfStep }, fault.SupplyOutOfStep, 0.1},
		{"setpoint not taken", Ramping, 10, func(k *tank) { k.in.Link = fault.SupplyDisobeys }, fault.SupplyDisobeys, 0.1},
		{"supply restarted", Ramping, 10, func(k *tank) { k.in.Link = fault.SupplyRestarted }, fault.SupplyRestarted, 0.1},
		{"supply's own trip", Holding, 10, func(k *tank) { k.in.Link = fault.SupplyTripped }, fault.SupplyTripped, 0.1},
		{"volts turned by hand", Ramping, 10, func(k *tank) { k.in.Held.Set += 2 }, fault.SupplyTouched, 1.1},
		{"limit turned by hand", Holding, 10, func(k *tank) { k.in.Held.Limit = 2 }, fault.SupplyTouched, 1.1},
		{"switched off by hand", Ramping, 10, func(k *tank) { k.in.Held.Output = OutputOff }, fault.SupplyTouched, 1.1},
		{"above the setpoint", Ramping, 10, func(k *tank) { k.in.Reading.Volts += 0.8 }, fault.OverVoltage, 0.2},
		{"above the ceiling", Holding, 10, func(k *tank) { k.in.Reading.Volts = 71 }, fault.OverVoltage, 0.1},
		{"part touches the plate", Ramping, 25, func(k *tank) { k.in.Reading.Volts, k.in.Reading.Amperes = 1, 1 }, fault.ShortCircuit, 0.2},
		{"volts stay below", Holding, 10, func(k *tank) { k.in.Reading.Volts, k.in.Reading.Amperes = 60, 0.02 }, fault.SupplyNotFollowing, 2.5},
		{"volts stand still", Ramping, 10, func(k *tank) { k.in.Reading.Volts = 18 }, fault.ReadbackStuck, 1.6},
		{"rack falls off in the ramp", Ramping, 20, func(k *tank) { k.in.Reading.Amperes = 0 }, fault.ContactLost, 1.0},
		{"rack falls off early in the hold", Holding, 2, func(k *tank) { k.in.Reading.Amperes = 0 }, fault.ContactLost, 0.7},
		{"rack falls off late in the hold", Holding, 60, func(k *tank) { k.in.Reading.Amperes = 0 }, fault.ContactLost, 0.7},
		{"bath boils", Holding, 3, func(k *tank) { k.in.Bath = Bath{true, true, 46, k.in.Now} }, fault.BathTooHot, 0.1},
	} {
		t.Run(c.name, func(t *testing.T) {
			k, took := after(t, c.state, c.wait, c.change)
			assert.Equal(t, c.code, k.out.Trip)
			assert.LessOrEqual(t, took, c.within+1e-6)
			k.before = nil
			assert.Equal(t, Tripped, k.untilEnd(t).State)
			assert.False(t, k.out.On)
		})
	}
}

func TestOnePartOfEightThatFallsOffIsSeenAndNeverComplete(t *testing.T) {
	for _, c := range []struct {
		state State
		wait  float64
	}{{Ramping, 12}, {Ramping, 30}, {Ramping, 50}, {Holding, 12}, {Holding, 40}} {
		lost := func(k *tank) { k.area = 175 }
		k := newTank(load())
		k.start(t, c.state)
		for range int(c.wait * 10) {
			k.tick()
		}
		lost(k)
		began := k.now
		for k.out.On {
			k.tick()
		}
		assert.Equal(t, fault.ContactLost, k.out.Trip)
		assert.LessOrEqual(t, k.now-began, 2.0, "%v after %v s", c.state, c.wait)
	}
}

func TestControlAbsentForOverASecondTrips(t *testing.T) {
	k := newTank(load())
	k.start(t, Ramping)
	k.tickAfter(0.9)
	assert.True(t, k.out.On)
	k.tickAfter(1.1)
	assert.False(t, k.out.On)
	assert.Equal(t, fault.ControlAbsent, k.out.Trip)
}

func TestLateTickIsNotCaughtUp(t *testing.T) {
	k := newTank(load())
	k.start(t, Ramping)
	k.tick()
	before := k.out.Set
	k.tickAfter(0.7)
	assert.Equal(t, before, k.out.Set, "the setpoint stands through a gap")
	k.tick()
	assert.InDelta(t, float64(before)+0.1, float64(k.out.Set), 1e-9)
}

func TestNothingConnectedTripsAfterTheContactCheck(t *testing.T) {
	k := newTank(load())
	k.area = 1e-9
	k.start(t, ContactCheck)
	reached := 0.0
	for k.out.On {
		k.tick()
		if reached == 0 && k.volts >= 7.99 {
			reached = k.now
		}
	}
	assert.Equal(t, fault.NoContact, k.out.Trip)
	assert.LessOrEqual(t, k.now-reached, 2.5)
}

func TestOutputThatStaysOnIsNamed(t *testing.T) {
	k := newTank(load())
	k.start(t, Holding)
	k.stuckOn = true
	k.before = func(k *tank) { k.out.Set = 70 }
	k.in.Event = Stop
	k.tick()
	off := k.now
	for !k.out.State.Ended() {
		k.tick()
	}
	assert.Equal(t, Tripped, k.out.State)
	assert.Equal(t, fault.OutputStuckOn, k.out.Trip)
	assert.LessOrEqual(t, k.now-off, 3.2)
	proven, _ := k.loop.SafeToOpen()
	assert.False(t, proven)
}

func TestSlowDischargeIsNotStuckAndNotSafe(t *testing.T) {
	k := newTank(load())
	k.start(t, Holding)
	k.in.Event = Stop
	k.tick()
	volts := 70.0
	k.before = func(k *tank) {
		volts *= math.Exp(-0.1 / 8)
		k.in.Reading.Volts, k.in.Reading.OK = unit.Volts(volts), true
	}
	for volts > 5.2 {
		k.tick()
		require.Equal(t, Discharging, k.out.State)
		proven, _ := k.loop.SafeToOpen()
		require.False(t, proven)
	}
	assert.Equal(t, Stopped, k.untilEnd(t).State)
	assert.Empty(t, k.out.Trip)
}

// TestCellThatIsNotProvenDeadIsATrip: nobody may take the end of a run for leave to
// open, so a meter that goes silent as the output goes off is a trip.
func TestCellThatIsNotProvenDeadIsATrip(t *testing.T) {
	began := 0.0
	slowly := func(k *tank) {
		if began == 0 {
			began = k.now
		}
		k.in.Reading.Volts = unit.Volts(70 * math.Pow(0.975, k.now-began))
	}
	for name, c := range map[string]struct {
		change func(*tank)
		code   fault.Code
		within float64
	}{
		"no reading":           {func(k *tank) { k.in.Reading.OK, k.in.Held.OK = false, false }, fault.SupplySilent, 5.3},
		"falls far too slowly": {slowly, fault.OutputStuckOn, 61},
	} {
		t.Run(name, func(t *testing.T) {
			k := newTank(load())
			k.start(t, Holding)
			for k.now < 100 {
				k.tick()
			}
			k.in.Event = Stop
			k.tick()
			off := k.now
			k.before = c.change
			k.untilEnd(t)
			assert.Equal(t, c.code, k.out.Trip)
			assert.LessOrEqual(t, k.now-off, c.within)
		})
	}
}

// TestDipOfTheMainsIsAFindingAndNoTrip: the setpoint waits, climbs again with the
// volts, and the run goes on.
func TestDipOfTheMainsIsAFindingAndNoTrip(t *testing.T) {
	k := newTank(load())
	k.start(t, Ramping)
	for range 250 {
		k.tick()
	}
	k.before = func(k *tank) { k.in.Reading.Volts, k.in.Reading.Amperes = 2, 0 }
	for range 5 {
		k.tick()
	}
	k.before = nil
	assert.Equal(t, Complete, k.untilEnd(t).State, "trip %q", k.out.Trip)
	assert.Equal(t, fault.SupplyDroop, k.loop.Findings()[0].Code)
}

// TestSeveralTripsOfOneTick: the first by precedence is the cause, whatever the order in
// which they were found; the others, and what comes before the cell is seen dead, are
// listed under it.
func TestSeveralTripsOfOneTick(t *testing.T) {
	at := func(change func(*tank)) *tank {
		k, _ := after(t, Ramping, 10, change)
		return k
	}
	short := func(k *tank) { k.in.Reading.Volts, k.in.Reading.Amperes = 1, 1 }
	for name, c := range map[string]struct {
		change func(*tank)
		first  fault.Code
		also   fault.Set
	}{
		"lid and supply out of step": {func(k *tank) { open(k); k.in.Link = fault.SupplyOutOfStep }, fault.InterlockOpen, fault.Of(fault.SupplyOutOfStep)},
		"over the ceiling and restarted": {func(k *tank) { k.in.Reading.Volts = 71; k.in.Link = fault.SupplyRestarted }, fault.OverVoltage,
			fault.Of(fault.SupplyRestarted)},
		"hot bath, disobedient supply, lid": {func(k *tank) {
			open(k)
			k.in.Bath, k.in.Link = Bath{true, true, 46, k.in.Now}, fault.SupplyDisobeys
		}, fault.InterlockOpen, fault.Of(fault.SupplyDisobeys, fault.BathTooHot)},
		"a fault of the supply hides no other": {func(k *tank) { k.in.Link, k.in.Bath = fault.SupplyTripped, Bath{true, true, 46, k.in.Now} },
			fault.SupplyTripped, fault.Of(fault.BathTooHot)},
		"alone": {short, fault.ShortCircuit, 0},
	} {
		k := at(c.change)
		assert.Equal(t, c.first, k.out.Trip, name)
		assert.Equal(t, c.also, k.out.Also, name)
	}
}

func TestWhatComesAfterATripIsListedUnderIt(t *testing.T) {
	k, _ := after(t, Holding, 10, func(k *tank) { k.in.Link = fault.SupplyTripped })
	k.before = func(k *tank) {
		k.in.Reading.Volts = 40 // not dead yet
		open(k)
	}
	k.tick()
	assert.Equal(t, fault.SupplyTripped, k.out.Trip)
	assert.Equal(t, []fault.Code{fault.InterlockOpen}, k.out.Also.Codes())
	k.before = nil
	k.untilEnd(t)
	assert.Equal(t, fault.SupplyTripped, k.out.Trip, "the first cause stays")
	assert.Equal(t, []fault.Code{fault.InterlockOpen}, k.out.Also.Codes())

	k, _ = after(t, Holding, 10, func(k *tank) { k.in.Link = fault.SupplyTripped })
	k.before = func(k *tank) { k.in.Link = "" }
	k.tick()
	k.tick()
	k.before = func(k *tank) { k.in.Reading.Volts = 0.1; open(k) }
	k.untilEnd(t)
	assert.Zero(t, k.out.Also, "a lid that is lifted from a dead cell is no trip")
}
