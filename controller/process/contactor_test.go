package process

import (
	"fmt"
	"testing"

	"anodized/controller/fault"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// chain is a tank behind a contactor that follows its pulses by the next tick, and
// an emergency stop. Twist changes what is read.
type chain struct {
	*tank
	twist  func(*chain)
	closed bool
	pulsed float64 // the tick of the last pulse
}

func newChain() *chain {
	c := &chain{tank: newTank(load())}
	c.before = func(*tank) {
		c.closed = c.out.Close
		c.in.EmergencyStop = EmergencyStop{Fitted: true, OK: true, Closed: [2]bool{true, true}, At: c.in.Now}
		c.in.Contactor = Contactor{Fitted: true, OK: true, Closed: c.closed, At: c.in.Now}
		if c.twist != nil {
			c.twist(c)
		}
	}
	return c
}

// running is a chain some ticks into a state.
func running(t *testing.T, state State, ticks int) *chain {
	t.Helper()
	c := newChain()
	c.start(t, state)
	for range ticks {
		c.tick()
	}
	require.True(t, c.out.On)
	return c
}

func press(c *chain)    { c.in.EmergencyStop.Closed = [2]bool{} }
func dropOut(c *chain)  { c.in.Contactor.Closed = false }
func weld(c *chain)     { c.in.Contactor.Closed = true }
func cutWire(c *chain)  { c.in.Contactor.OK = false }
func liftLid(c *chain)  { c.in.Interlock.Closed = [2]bool{} }
func nothing(c *chain)  {}
func nudgeLid(c *chain) { c.in.Interlock.Moved = true }

func TestContactorClosesBeforeTheOutputAndOpensAfterTheCurrent(t *testing.T) {
	c := newChain()
	c.start(t, Checking)
	for !c.out.On {
		was := c.out.Close
		c.tick()
		if c.out.On {
			require.True(t, was && c.given.Contactor.Closed, "on before the contactor was seen closed")
		}
	}
	for c.out.On {
		require.True(t, c.out.Close, "held as long as the output is on")
		c.tick()
	}
	require.Equal(t, Discharging, c.out.State)
	off := c.now
	require.True(t, c.out.Close, "a good end lets the current go first")
	for c.out.Close {
		c.tick()
	}
	assert.LessOrEqual(t, c.now-off, 0.3+1e-9)
	assert.Equal(t, Complete, c.untilEnd(t).State)
}

func TestOnOnlyBehindAClosedContactorAndAReleasedStop(t *testing.T) {
	for name, c := range map[string]struct {
		twist  func(*chain)
		reason Reasons
		trip   fault.Code
	}{
		"stop pressed":            {press, StopPressed, fault.EmergencyStop},
		"one contact of the stop": {func(c *chain) { c.in.EmergencyStop.Closed[1] = false }, StopPressed, fault.EmergencyStop},
		"stop cannot be read":     {func(c *chain) { c.in.EmergencyStop.OK = false }, StopPressed, fault.EmergencyStop},
		"contactor never closes":  {dropOut, ContactorFault, fault.ContactorStuck},
		"contactor welded":        {weld, ContactorFault, fault.ContactorStuck},
		"mirror contact unread":   {cutWire, ContactorUnread, ""},
	} {
		t.Run(name, func(t *testing.T) {
			k := newChain()
			k.twist = c.twist
			k.start(t, Refused)
			assert.NotZero(t, k.out.Reasons&c.reason, "%b", k.out.Reasons)
			assert.Equal(t, c.trip, k.out.Trip)
			assert.False(t, k.out.Close)
		})
	}
}

func TestContactorThatDoesNotCloseIsToldWithinAFifthOfASecond(t *testing.T) {
	c := newChain()
	c.twist = dropOut
	c.start(t, Checking)
	for !c.out.Close {
		c.tick()
	}
	began := c.now
	c.untilEnd(t)
	assert.Equal(t, fault.ContactorStuck, c.out.Trip)
	assert.InDelta(t, 0.2, c.now-began, 1e-6)
}

func TestTripsOfTheChain(t *testing.T) {
	for name, c := range map[string]struct {
		twist  func(*chain)
		code   fault.Code
		within float64
	}{
		"stop pressed":                  {press, fault.EmergencyStop, 0.1},
		"stop cannot be read":           {func(c *chain) { c.in.EmergencyStop.OK = false }, fault.EmergencyStop, 0.7},
		"opened without our doing":      {dropOut, fault.EmergencyStop, 0.1},
		"lid and contactor in one tick": {func(c *chain) { liftLid(c); dropOut(c) }, fault.InterlockOpen, 0.1},
		"lid moved for 3 ms":            {nudgeLid, fault.InterlockOpen, 0.1},
		"lid moved and contactor open":  {func(c *chain) { nudgeLid(c); dropOut(c) }, fault.InterlockOpen, 0.1},
		"stop and lid in one tick":      {func(c *chain) { press(c); liftLid(c) }, fault.EmergencyStop, 0.1},
		"mirror contact unread":         {cutWire, fault.ContactorStuck, 0.7},
	} {
		for _, state := range []State{ContactCheck, Ramping, Holding} {
			t.Run(name+" while "+state.String(), func(t *testing.T) {
				k := running(t, state, 10)
				k.twist = c.twist
				began := k.now
				for k.out.On {
					k.tick()
				}
				assert.Equal(t, c.code, k.out.Trip)
				assert.LessOrEqual(t, k.now-began, c.within+1e-6)
				assert.False(t, k.out.Close, "a trip drops the contactor in the same tick")
				k.twist = nothing
				assert.Equal(t, Tripped, k.untilEnd(t).State)
			})
		}
	}
}

// The one-shot lapses by itself where the control was late: nobody pressed anything.
func TestLateControlIsNoEmergencyStop(t *testing.T) {
	c := running(t, Holding, 10)
	c.twist = dropOut
	c.tickAfter(0.9)
	assert.Equal(t, fault.ControlAbsent, c.out.Trip)
}

// A mirror contact that was read in this step, too long before it was decided, is no contactor
// that hangs.
func TestControlThatWasAwayIsNoStuckContactor(t *testing.T) {
	c := running(t, Holding, 10)
	c.twist = func(c *chain) { c.in.Contactor.At -= 0.6 }
	c.tick()
	assert.Equal(t, fault.ControlAbsent, c.out.Trip)
}

// TestWeldedContactorIsToldInTime: from the tick of the last pulse, the one-shot and half a
// second for the release; where the one-shot was cleared at once, that half second alone.
func TestWeldedContactorIsToldInTime(t *testing.T) {
	for name, end := range map[string]struct {
		how         func(*chain)
		first, also fault.Code
	}{
		"stopped": {func(c *chain) { c.in.Event = Stop }, fault.ContactorStuck, ""},
		"tripped": {liftLid, fault.InterlockOpen, fault.ContactorStuck},
	} {
		for oneShot, within := range map[unit.Seconds]float64{0: 1.5, 2: 2.5} {
			t.Run(fmt.Sprint(name, oneShot), func(t *testing.T) {
				c := welding(t, oneShot, end.how)
				c.untilEnd(t)
				assert.Equal(t, Tripped, c.out.State)
				assert.Equal(t, end.first, c.out.Trip)
				assert.Equal(t, fault.Of(end.also), c.out.Also)
				assert.InDelta(t, within+0.05, c.now-c.pulsed, 0.05+1e-6)
			})
		}
		t.Run(name+", cleared", func(t *testing.T) {
			c := welding(t, 0, end.how)
			c.twist = func(c *chain) { weld(c); c.in.Contactor.Cleared = true }
			c.untilEnd(t)
			assert.Contains(t, append(c.out.Also.Codes(), c.out.Trip), fault.ContactorStuck)
			assert.InDelta(t, 0.65, c.now-c.pulsed, 0.05+1e-6)
		})
	}
}

// welding is a chain whose contactor hangs, in the tick that wants it open.
func welding(t *testing.T, oneShot unit.Seconds, how func(*chain)) *chain {
	c := newChain()
	cfg := bench
	cfg.OneShot = oneShot
	c.loop = NewLoop(cfg)
	c.loop.Load(load())
	c.start(t, Holding)
	c.twist = func(c *chain) { weld(c); how(c) }
	for c.out.Close {
		c.pulsed = c.now
		c.tick()
	}
	c.twist = weld
	return c
}

// TestMirrorContactThatIsNotReadGetsItsTime: only one that is seen closed behind a cleared
// one-shot hangs.
func TestMirrorContactThatIsNotReadGetsItsTime(t *testing.T) {
	c := welding(t, 0, func(c *chain) { c.in.Event = Stop })
	c.twist = func(c *chain) { cutWire(c); c.in.Contactor.Cleared = true }
	c.untilEnd(t)
	assert.Equal(t, fault.ContactorStuck, c.out.Trip)
	assert.InDelta(t, 1.55, c.now-c.pulsed, 0.05+1e-6)
}

func TestReleasingTheStopStartsNothing(t *testing.T) {
	c := running(t, Holding, 10)
	c.twist = press
	c.untilEnd(t)
	acknowledge := func() State { c.in.Event = Acknowledge; return c.tick().State }
	assert.Equal(t, Tripped, acknowledge(), "still pressed")
	c.twist = nothing
	c.tick()
	assert.Equal(t, Tripped, acknowledge(), "the lid was not opened and closed since")
	c.lidOpens, c.lidCloses = c.now+0.1, c.now+1
	for c.now < c.lidCloses+1 {
		c.tick()
	}
	assert.Equal(t, Idle, acknowledge())
	for range 30 {
		require.False(t, c.tick().On)
		require.False(t, c.out.Close)
	}
}

// A lid that moved for a moment is not a lid that was opened to change a rack.
func TestMovedIsNotOpened(t *testing.T) {
	c := newChain()
	c.lidOpens, c.lidCloses = -1, -1
	c.twist = func(c *chain) { c.in.Interlock.Moved = c.now > 1.5 && c.now < 1.7 }
	c.in.Event = Start
	for range 100 {
		require.False(t, c.tick().Close)
	}
	assert.NotZero(t, c.out.Reasons&LidNotCycled)
}

// TestChainInDisorder throws anything at the chain: the output is on only behind a
// contactor that was pulsed and seen closed, and a released stop.
func TestChainInDisorder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := newChain()
		c.lidOpens, c.lidCloses = 0.2, 0.4
		for range 15 {
			c.tick()
		}
		c.in.Event = Start
		for range rapid.IntRange(0, 300).Draw(t, "healthy ticks") {
			c.tick()
		}
		c.twist = func(c *chain) { upset(t, c) }
		for range rapid.IntRange(1, 60).Draw(t, "ticks") {
			was := c.out
			c.tickAfter(rapid.SampledFrom([]float64{0.1, 0.1, 0.1, 0.13, 0.5, 2}).Draw(t, "gap"))
			invariants(t, c.tank, was)
			mirror := c.given.Contactor // one that was not read counts by its last fresh reading
			require.False(t, c.out.On && !was.On && (!was.Close || mirror.OK && !mirror.Closed), "on behind an open contactor")
			require.False(t, c.out.On && !c.out.Close, "on without pulses")
			stop := c.given.EmergencyStop
			require.False(t, c.out.Close && stop.OK && stop.Closed != [2]bool{true, true}, "pulses with the stop pressed")
			require.False(t, c.out.Close && c.given.Interlock.Moved, "pulses for a lid that moved")
		}
	})
}

func upset(t *rapid.T, c *chain) {
	disorder(t, c.tank)
	if rapid.IntRange(0, 7).Draw(t, "stop") == 0 {
		c.in.EmergencyStop.OK = rapid.Bool().Draw(t, "stop read")
		c.in.EmergencyStop.Closed = [2]bool{rapid.Bool().Draw(t, "stop a"), rapid.Bool().Draw(t, "stop b")}
	}
	if rapid.IntRange(0, 7).Draw(t, "mirror") == 0 {
		c.in.Contactor.OK = rapid.Bool().Draw(t, "mirror read")
		c.in.Contactor.Closed = rapid.Bool().Draw(t, "mirror closed")
		c.in.Contactor.At -= unit.Seconds(rapid.SampledFrom([]float64{0, 0, 0.6}).Draw(t, "mirror age"))
	}
	c.in.Interlock.Moved = rapid.IntRange(0, 9).Draw(t, "moved") == 0
}
