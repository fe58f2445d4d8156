package process

import (
	"testing"

	"anodized/controller/fault"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestEveryItemOfEvidenceIsNeeded takes away one item at a time: the run is never
// energised and the refusal names what is missing.
func TestEveryItemOfEvidenceIsNeeded(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*tank)
		reason Reasons
	}{
		{"lid never opened", func(k *tank) { k.in.Interlock.Closed = [2]bool{true, true} }, LidNotCycled | LidWaitOver},
		{"lid never closed", open, LidOpen | LidWaitOver},
		{"interlock silent", func(k *tank) { k.in.Interlock.OK = false }, InterlockUnread},
		{"supply silent", func(k *tank) { k.in.Reading.OK = false }, SupplyUnread},
		{"no read-back", func(k *tank) { k.in.Held.OK = false }, SupplyNotHeld},
		{"output on already", func(k *tank) { k.in.Held.Output = OutputOn }, OutputNotOff},
		{"output unknown", func(k *tank) { k.in.Held.Output = OutputUnknown }, OutputNotOff},
		{"limit not taken", func(k *tank) { k.in.Held.Limit = 0.5 }, LimitsNotTaken},
		{"setpoint not at zero", func(k *tank) { k.in.Held.Set = 12 }, LimitsNotTaken},
		{"current flows", func(k *tank) { k.in.Reading.Amperes = 0.02 }, CurrentNotZero},
		{"cell is charged", func(k *tank) { k.in.Reading.Volts = 20 }, VoltsNotZero},
		{"bath thermometer silent", func(k *tank) { k.in.Bath = Bath{Fitted: true} }, BathUnread},
		{"bath too warm", func(k *tank) { k.in.Bath = Bath{true, true, 29, k.in.Now} }, BathOutside},
		{"journal not ready", func(k *tank) { k.in.NoRecord = true }, RecordNotReady},
		{"lost-host timer not armed", func(k *tank) { k.in.TimerOff = true }, TimerNotArmed},
		{"intent row not durable", func(k *tank) { k.in.Durable = false }, RecordNotReady},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := newTank(load())
			k.before = c.change
			for range 10 {
				k.tick()
			}
			k.in.Event = Start
			for range 2000 {
				k.tick()
				require.False(t, k.out.On)
			}
			assert.Equal(t, Refused, k.out.State)
			assert.Equal(t, c.reason, k.out.Reasons&c.reason, "reasons %b", k.out.Reasons)
			_, energised := k.loop.Summary()
			assert.False(t, energised)
		})
	}
}

// TestNothingIsEnergisedInATickWithoutAReading: a supply that fails in the very tick that
// would switch it on does not hear of it, and what was never on has no energised second.
func TestNothingIsEnergisedInATickWithoutAReading(t *testing.T) {
	k := newTank(load())
	reads := false
	k.before = func(k *tank) {
		if k.out.Intent { // all else is there by now
			k.in.Reading.OK, reads = reads, !reads
		}
	}
	k.start(t, ContactCheck)
	assert.True(t, k.given.Reading.OK)

	k = newTank(load())
	k.before = func(k *tank) { k.in.Reading.OK = !k.out.Intent }
	k.start(t, Refused)
	assert.Equal(t, SupplyUnread, k.out.Reasons&SupplyUnread)
	_, energised := k.loop.Summary()
	assert.False(t, energised)
}

func TestPlanBeyondTheSupplyIsRefusedAtOnce(t *testing.T) {
	p := load()
	p.CeilingVolts = 130
	k := newTank(p)
	k.start(t, Refused)
	assert.Equal(t, BeyondSupply, k.out.Reasons&BeyondSupply)
}

func TestCurrentTooCoarseForTheEndIsRefused(t *testing.T) {
	p := load()
	p.End.Current = 0.0015
	k := newTank(p)
	k.start(t, Refused)
	assert.Equal(t, CurrentTooCoarse, k.out.Reasons&CurrentTooCoarse)
}

func TestSmallOffsetIsSubtractedAndSaid(t *testing.T) {
	k := newTank(load())
	k.before = func(k *tank) { k.in.Reading.Amperes += 0.005 }
	k.start(t, Ramping)
	k.untilEnd(t)
	assert.Equal(t, Complete, k.out.State)
	assert.Equal(t, fault.CurrentOffset, k.loop.Findings()[0].Code)
	assert.InDelta(t, 0.005, float64(k.loop.Bench().Zero), 0.0005)
	s, _ := k.loop.Summary()
	assert.InEpsilon(t, 0.14, float64(s.EndDensity), 0.05)
}

func TestDisagreeingChannelsLatchUntilBothWereOpen(t *testing.T) {
	k := newTank(load())
	half := true
	k.before = func(k *tank) {
		if half {
			k.in.Interlock.Closed = [2]bool{true, false}
		}
	}
	k.start(t, Refused)
	assert.Equal(t, fault.InterlockDisagrees, k.out.Trip)
	half = false
	k.lidOpens, k.lidCloses = 0, 0 // both closed, never open: still latched
	k.in.Event = Start
	k.tick()
	k.tick()
	k.untilEnd(t)
	assert.Equal(t, Refused, k.out.State)
	assert.Equal(t, fault.InterlockDisagrees, k.out.Trip)
	k.lidOpens, k.lidCloses = k.now+1, k.now+2
	for k.now < k.lidCloses+1 {
		k.tick()
	}
	k.in.Event = Start
	k.tick()
	k.until(t, ContactCheck)
}

func TestTripNeedsCauseGoneLidCycledAndAPerson(t *testing.T) {
	k := newTank(load())
	k.start(t, Holding)
	k.before = open
	k.untilEnd(t)
	require.Equal(t, Tripped, k.out.State)
	acknowledge := func() State { k.in.Event = Acknowledge; return k.tick().State }
	assert.Equal(t, Tripped, acknowledge(), "the lid is open")
	k.in.Event = Start
	assert.Equal(t, Tripped, k.tick().State, "a start clears nothing")
	assert.Equal(t, Start, k.out.Rejected)
	k.before = nil
	for range 12 {
		k.tick()
	}
	assert.Equal(t, Tripped, k.out.State, "closing the lid clears nothing")
	assert.Equal(t, Idle, acknowledge())
	for range 50 {
		k.tick()
	}
	assert.Equal(t, Idle, k.out.State, "an acknowledgement starts nothing")
	assert.False(t, k.out.On)
}

// TestAFaultThatRefusedALoadIsAcknowledged: it is shown as a trip, so a person may clear it.
func TestAFaultThatRefusedALoadIsAcknowledged(t *testing.T) {
	k := newTank(load())
	k.before = func(k *tank) { k.in.Link = fault.SupplyOutOfStep }
	k.start(t, Refused)
	require.Equal(t, fault.SupplyOutOfStep, k.out.Trip)
	k.before, k.in.Event = nil, Acknowledge
	assert.Equal(t, Idle, k.tick().State)
	assert.Empty(t, k.out.Trip)
	assert.Empty(t, k.out.Rejected)
}

func TestQuestionAtTheContactCheck(t *testing.T) {
	ask := func() *tank {
		k := newTank(load())
		k.area = 100 // half of the parts hang without contact
		k.start(t, ContactCheck)
		for k.out.Question == "" {
			k.tick()
			require.Equal(t, ContactCheck, k.out.State)
		}
		assert.Equal(t, fault.AreaOverstated, k.out.Question)
		assert.InDelta(t, 8, k.volts, 0.06)
		return k
	}
	t.Run("silence trips", func(t *testing.T) {
		k := ask()
		began := k.now
		k.untilEnd(t)
		assert.Equal(t, fault.NotAnswered, k.out.Trip)
		assert.InDelta(t, 60, k.now-began, 2)
	})
	t.Run("go on", func(t *testing.T) {
		k := ask()
		k.in.Event = GoOn
		k.tick()
		assert.Equal(t, Complete, k.untilEnd(t).State)
		codes := map[fault.Code]bool{}
		for _, f := range k.loop.Findings() {
			codes[f.Code] = true
		}
		assert.True(t, codes[fault.AreaOverstated])
	})
	t.Run("give up", func(t *testing.T) {
		k := ask()
		k.in.Event = GiveUp
		assert.False(t, k.tick().On)
		assert.Equal(t, Stopped, k.untilEnd(t).State)
	})
}

func TestIllegalEventTrips(t *testing.T) {
	for _, e := range []Event{Start, GoOn, Acknowledge, Event(99)} {
		k := newTank(load())
		k.start(t, Ramping)
		k.in.Event = e
		assert.False(t, k.tick().On)
		assert.Equal(t, fault.IllegalEvent, k.out.Trip)
		assert.Equal(t, e, k.out.Rejected)
	}
}

func TestStopByEyeIsKept(t *testing.T) {
	k := newTank(load())
	k.start(t, Holding)
	k.in.Event = StopByEye
	assert.False(t, k.tick().On)
	assert.Equal(t, Stopped, k.untilEnd(t).State)
	assert.True(t, k.out.ByEye)
}

func TestNothingResumes(t *testing.T) {
	k := newTank(load())
	k.start(t, Ramping)
	k.in.Event = Stop
	k.untilEnd(t)
	for range 100 {
		k.tick()
		require.False(t, k.out.On)
		require.Equal(t, unit.Volts(0), k.out.Set)
	}
}

func TestStopByEyeIsAGoodEnd(t *testing.T) {
	for _, c := range []struct {
		event   Event
		flagged bool
	}{{StopByEye, false}, {Stop, true}} {
		k := newTank(load())
		k.start(t, Ramping)
		for range 200 {
			k.tick()
		}
		k.in.Event = c.event
		k.untilEnd(t)
		codes := map[fault.Code]bool{}
		for _, f := range k.loop.Findings() {
			codes[f.Code] = true
		}
		assert.Equal(t, c.flagged, codes[fault.UnderFormed])
	}
}

// TestLidFirstWaitsForNoLid starts with the lid closed and not moved, with it open, and
// opens it again in checking: what closes it later starts nothing.
func TestLidFirstWaitsForNoLid(t *testing.T) {
	for name, change := range map[string]func(*tank){
		"never opened": func(k *tank) { k.lidOpens, k.lidCloses = 2, 4 },
		"open":         func(k *tank) { k.lidOpens, k.lidCloses = 0.5, 4 },
		"open again": func(k *tank) {
			if k.lidOpens, k.lidCloses = 0.05, 0.25; k.now > 1 {
				k.lidOpens, k.lidCloses = 1.05, 4
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			k := newTank(load())
			change(k)
			for k.now < 1 {
				k.tick()
			}
			k.in.Event, k.in.LidFirst = Start, true
			for k.now < 20 {
				change(k)
				k.tick()
				require.False(t, k.out.On)
			}
			assert.Equal(t, Refused, k.out.State)
		})
	}
}
