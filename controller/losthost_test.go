package controller

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/virtual"
)

// clockwork is a wire whose supply has a lost-host timer.
type clockwork struct{ *wire }

func (c clockwork) ArmLostHost(ctx context.Context) (time.Duration, error) {
	return time.Second, c.say(ctx, "arm", "arm")
}

func (c clockwork) DisarmLostHost(ctx context.Context) error { return c.say(ctx, "disarm", "disarm") }

func TestLostHostTimerIsArmedBeforeTheOutputAndDisarmedBehindIt(t *testing.T) {
	s := newStand(20, Options{ClockWaits: true})
	s.core.run(2)
	s.lostHost, s.protector = clockwork{s.wire}, guarded{s.wire}
	follow(t, s)
	assert.Equal(t, []string{"off", "ovp 10.00", "arm", "curr 1.00", "volt 0.00", "on", "off", "disarm", "off"}, only(s.wire.lines()))
}

// TestLostHostTimerOfAnEarlierProcessIsDisarmedOnce: a bench that waits for a load is not
// tripped by what a controller that was killed left armed.
func TestLostHostTimerOfAnEarlierProcessIsDisarmedOnce(t *testing.T) {
	for name, c := range map[string]struct {
		fail error
		want []string
	}{
		"taken":   {nil, []string{"off", "curr 0.00", "volt 0.00", "disarm", "off"}},
		"refused": {hal.ErrRefused, []string{"off", "curr 0.00", "volt 0.00", "disarm", "off"}},
	} {
		t.Run(name, func(t *testing.T) {
			s := newStand(5, Options{ClockWaits: true}, off(process.Idle, 0))
			s.lostHost = clockwork{s.wire}
			s.wire.fail["disarm"] = c.fail
			require.ErrorIs(t, s.Run(context.Background()), errEnough)
			assert.Equal(t, c.want, only(s.wire.lines()))
		})
	}
}

func TestLostHostTimerThatIsNotConfirmedKeepsTheOutputOff(t *testing.T) {
	for name, fail := range map[string]error{"differs": hal.ErrMismatch, "refused": hal.ErrRefused, "silent": hal.ErrTimeout} {
		t.Run(name, func(t *testing.T) {
			s := newStand(20, Options{ClockWaits: true})
			s.core.run(2)
			s.lostHost = clockwork{s.wire}
			s.wire.fail["arm"] = fail
			follow(t, s)
			assert.NotContains(t, s.wire.lines(), "on")
			for _, in := range s.core.inputs {
				assert.True(t, in.TimerOff)
				assert.Empty(t, in.Link, "the refusal names the timer, not the supply")
			}
		})
	}
}

func TestLostHostTimerIsNotDisarmedWhileTheCellLives(t *testing.T) {
	s := newStand(20, Options{ClockWaits: true})
	s.core.run(2)
	s.core.charged = true
	s.lostHost = clockwork{s.wire}
	follow(t, s)
	assert.Contains(t, s.wire.lines(), "arm")
	assert.NotContains(t, s.wire.lines(), "disarm")
}

// timedBench is a virtual bench without a contactor, whose supply has a lost-host timer.
func timedBench(t *testing.T, faults ...virtual.Fault) (*Station, *virtual.Bench) {
	bench, err := virtual.New(virtual.Setup{Seed: 1, LostHost: 1, Faults: faults, Parts: []virtual.Part{{Area: 25, Count: 8}}})
	require.NoError(t, err)
	s := New(Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Thermometer: bench.Thermometer(), Simulated: true},
		bench, &shelf{}, quiet(), Options{ClockWaits: true})
	return s, bench
}

// onlooker looks at the bench before each tick, and may do so instead of the controller for
// a while.
type onlooker struct {
	*virtual.Bench
	look func(virtual.Truth)
}

func (o onlooker) Next(ctx context.Context) (time.Time, error) {
	o.look(o.Truth())
	return o.Bench.Next(ctx)
}

func TestLostHostTimerGuardsAWholeLoadAndTripsNothing(t *testing.T) {
	s, bench := timedBench(t)
	live, armed := 0, 0
	s.pacer = onlooker{bench, func(truth virtual.Truth) {
		if truth.Powered || truth.Volts >= 5 {
			live++
			require.True(t, truth.LostHostArmed, "armed before it is on, and until the cell is dead")
		}
		if truth.LostHostArmed {
			armed++
		}
	}}
	res := through(t, s, straw())
	require.Equal(t, record.Complete, res.Outcome, "%+v", res)
	assert.Greater(t, live, 50)
	assert.Greater(t, armed, live)
	assert.False(t, bench.Truth().LostHostArmed, "nobody is left to trip it")
}

// TestLostHostTimerEndsWhatADeadControllerLeft: the controller is away from a random moment
// on, and the bench has no contactor. Woken, it finds a supply that has tripped.
func TestLostHostTimerEndsWhatADeadControllerLeft(t *testing.T) {
	for _, at := range []float64{0.05, 0.5, 1.7, 3} {
		s, bench := timedBench(t)
		died, dead := 0.0, 0.0
		s.pacer = onlooker{bench, func(truth virtual.Truth) {
			if died > 0 || truth.RunSeconds < at {
				return
			}
			began := bench.Now()
			died = truth.RunSeconds
			require.True(t, truth.Powered)
			for bench.Now().Sub(began) < 5*time.Second {
				bench.AdvanceTo(bench.Now().Sub(virtual.Epoch) + 10*time.Millisecond)
				if dead == 0 && !bench.Truth().Powered {
					dead = bench.Now().Sub(began).Seconds()
				}
			}
		}}
		res := through(t, s, straw())
		assert.Equal(t, record.Tripped, res.Outcome)
		assert.Equal(t, fault.ControlAbsent, res.Trip.Code)
		assert.Greater(t, dead, 0.8, "not before its time")
		assert.LessOrEqual(t, dead, 1.5, "within its delay and half a second")
		assert.False(t, bench.Truth().Powered)
		held, err := bench.Supply().Check(t.Context())
		require.NoError(t, err)
		assert.Equal(t, "lost-host", held.Tripped, "a person clears it at the supply, once the cause is gone")
	}
}

// TestAStartIsRefusedWhereTheTimerIsNotConfirmed says which keys to look at.
func TestAStartIsRefusedWhereTheTimerIsNotConfirmed(t *testing.T) {
	s, _ := timedBench(t)
	s.lostHost = clockwork{&wire{fail: map[string]error{"arm": hal.ErrMismatch}}}
	res := through(t, s, straw())
	assert.Equal(t, record.Refused, res.Outcome)
	reasons := strings.Join(res.Reasons, "\n")
	assert.Contains(t, reasons, "compare lost_host_switch, lost_host_delay and lost_host_after in the bench file with its manual")
	assert.Contains(t, reasons, hal.ErrMismatch.Error())
	assert.Nil(t, res.Trip)
}
