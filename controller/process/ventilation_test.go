package process

import (
	"testing"

	"anodized/controller/fault"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// fan is a tank under a fan with an airflow switch. Twist changes what is read of it.
type fan struct {
	*tank
	twist func(*Ventilation)
}

func newFan() *fan {
	f := &fan{tank: newTank(load()), twist: func(*Ventilation) {}}
	f.before = func(k *tank) {
		k.in.Ventilation = Ventilation{Fitted: true, OK: true, Closed: true, At: k.in.Now}
		f.twist(&k.in.Ventilation)
	}
	return f
}

func stands(v *Ventilation) { v.Closed = false }

// unread is a switch that was read last at this moment.
func unread(at float64) func(*Ventilation) {
	return func(v *Ventilation) { v.OK, v.At = false, unit.Seconds(at) }
}

func TestNoStartWithoutAProvenVentilation(t *testing.T) {
	for name, c := range map[string]struct {
		twist  func(*Ventilation)
		reason Reasons
	}{
		"the fan stands":                {stands, AirNotProven},
		"never read":                    {unread(-10), AirUnread},
		"closed, and half a second old": {func(v *Ventilation) { v.At -= 0.6 }, AirUnread},
	} {
		t.Run(name, func(t *testing.T) {
			f := newFan()
			f.twist = c.twist
			f.start(t, Refused)
			assert.Equal(t, c.reason, f.out.Reasons)
			assert.Empty(t, f.out.Trip)
			assert.Zero(t, f.out.T, "the output was never on")
		})
	}
}

// TestAFanThatStartsLateIsWaitedFor: for the second that the switch has to stand closed.
func TestAFanThatStartsLateIsWaitedFor(t *testing.T) {
	f := newFan()
	f.twist = func(v *Ventilation) { v.Closed = f.now >= 5 }
	f.start(t, Checking)
	for !f.out.On {
		f.tick()
	}
	assert.InDelta(t, 6.1, f.now, 0.11, "and a tick for the intent row")
	f.twist = func(v *Ventilation) { v.Closed = int(f.now*10)%7 != 0 } // flutters
	for range 300 {
		f.tick()
		require.True(t, f.out.On, "%v", f.out.Trip)
	}
}

func TestLostVentilationEndsARun(t *testing.T) {
	for name, twist := range map[string]func(began float64) func(*Ventilation){
		"the fan stands":   func(float64) func(*Ventilation) { return stands },
		"cannot be read":   unread,
		"read, and frozen": func(began float64) func(*Ventilation) { return func(v *Ventilation) { v.At = unit.Seconds(began) } },
	} {
		for _, state := range []State{ContactCheck, Ramping, Holding} {
			t.Run(name+" while "+state.String(), func(t *testing.T) {
				f := newFan()
				f.start(t, state)
				for range 10 {
					f.tick()
				}
				began := f.now // the last reading that proved it
				f.twist = twist(began)
				for f.out.On {
					f.tick()
				}
				assert.Equal(t, fault.VentilationLost, f.out.Trip)
				assert.InDelta(t, 1.1, f.now-began, 1e-6, "a second, and the tick that sees it")
				assert.Equal(t, Tripped, f.untilEnd(t).State)
			})
		}
	}
}

func TestAGustIsNoLostVentilation(t *testing.T) {
	f := newFan()
	f.start(t, Holding)
	began := f.now
	f.twist = func(v *Ventilation) { v.Closed = f.now-began > 0.95 }
	for range 30 {
		require.True(t, f.tick().On)
	}
}

// TestLateControlIsNoLostVentilation: what was not read because the control was away.
func TestLateControlIsNoLostVentilation(t *testing.T) {
	f := newFan()
	f.start(t, Holding)
	f.twist = unread(f.now)
	f.tickAfter(1.5)
	assert.Equal(t, fault.ControlAbsent, f.out.Trip)
}

func TestALidThatOpensWithTheFanIsTheFirstCause(t *testing.T) {
	f := newFan()
	f.start(t, Holding)
	f.twist = stands
	for range 10 {
		require.True(t, f.tick().On)
	}
	f.lidOpens, f.lidCloses = f.now, f.now+1
	f.tick()
	assert.Equal(t, fault.InterlockOpen, f.out.Trip)
	assert.True(t, f.out.Also.Has(fault.VentilationLost))
}

// TestVentilationIsAcknowledgedOnceItIsBack: and not by being lost in a run that another
// cause has ended.
func TestVentilationIsAcknowledgedOnceItIsBack(t *testing.T) {
	for name, c := range map[string]struct {
		after func(*Ventilation)
		lacks Reasons
	}{
		"back":           {func(*Ventilation) {}, 0},
		"stands still":   {stands, AirNotProven},
		"cannot be read": {unread(0), AirUnread},
	} {
		t.Run(name, func(t *testing.T) {
			f := newFan()
			f.start(t, Ramping)
			f.twist = stands
			f.until(t, Tripped)
			require.Equal(t, fault.VentilationLost, f.out.Trip)
			f.twist = c.after
			f.lidOpens, f.lidCloses = f.now+1, f.now+3
			for range 50 {
				f.tick()
			}
			f.in.Event = Acknowledge
			f.tick()
			assert.Equal(t, c.lacks, f.out.Reasons)
			assert.Equal(t, c.lacks != 0, f.out.State == Tripped, "%v", f.out.State)
		})
	}
	f := newFan()
	f.start(t, Ramping)
	f.lidOpens, f.lidCloses = f.now, f.now+2
	f.until(t, Tripped)
	f.twist = stands
	for range 50 {
		f.tick()
	}
	f.in.Event = Acknowledge
	assert.Equal(t, Idle, f.tick().State, "the next start asks for the air")
}

// TestVentilationThatIsNotFittedChangesNothing: whatever stands in its place, and one that
// is always proven decides the same too.
func TestVentilationThatIsNotFittedChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		plain, other := newTank(load()), newTank(load())
		fitted := rapid.Bool().Draw(t, "fitted")
		both := []*tank{plain, other}
		for _, k := range both {
			k.lidOpens, k.lidCloses = 0.2, 0.4
		}
		asked := rapid.IntRange(11, 30).Draw(t, "asked at")
		healthy := rapid.IntRange(0, 300).Draw(t, "healthy ticks")
		ticks := asked + healthy + rapid.IntRange(1, 60).Draw(t, "ticks")
		for n := range ticks {
			var in Input
			gap := 0.1
			if n > asked+healthy {
				gap = rapid.SampledFrom([]float64{0.1, 0.1, 0.1, 0.13, 0.5, 2}).Draw(t, "gap")
			}
			plain.before = func(k *tank) {
				if n == asked {
					k.in.Event = Start
				}
				if n > asked+healthy {
					disorder(t, k)
				}
				in = k.in
			}
			other.before = func(k *tank) {
				k.in = in
				k.in.Ventilation = Ventilation{Fitted: true, OK: true, Closed: true, At: k.in.Now}
				if !fitted {
					k.in.Ventilation = Ventilation{OK: rapid.Bool().Draw(t, "read"), Closed: rapid.Bool().Draw(t, "closed"), At: unit.Seconds(rapid.Float64Range(-5, 5).Draw(t, "at"))}
				}
			}
			require.Equal(t, plain.tickAfter(gap), other.tickAfter(gap))
		}
	})
}

// TestOnOnlyInMovingAir throws anything at a run under a fan: it is never on for longer
// than the filter, and a tick, after the air was last proven.
func TestOnOnlyInMovingAir(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := newFan()
		f.lidOpens, f.lidCloses = 0.2, 0.4
		for range 15 {
			f.tick()
		}
		f.in.Event = Start
		for range rapid.IntRange(0, 300).Draw(t, "healthy ticks") {
			f.tick()
		}
		moved := f.now
		f.twist = func(v *Ventilation) {
			v.OK = rapid.IntRange(0, 3).Draw(t, "read") > 0
			v.Closed = rapid.IntRange(0, 3).Draw(t, "closed") == 0
			if v.OK && v.Closed {
				moved = f.now
			}
		}
		for range rapid.IntRange(1, 60).Draw(t, "ticks") {
			was := f.out
			disordered := f.before
			f.before = func(k *tank) { disordered(k); disorder(t, k) }
			f.tickAfter(rapid.SampledFrom([]float64{0.1, 0.1, 0.13, 0.5, 0.9}).Draw(t, "gap"))
			f.before = disordered
			invariants(t, f.tank, was)
			require.False(t, f.out.On && f.now-moved > 1+1e-6, "on %v s after the air was proven", f.now-moved)
		}
	})
}
