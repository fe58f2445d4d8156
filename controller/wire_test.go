package controller

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal"
	"anodized/hal/unit"
)

func on(state process.State, set unit.Volts, limit unit.Amperes) process.Command {
	return process.Command{State: state, On: true, Close: true, Set: set, Limit: limit}
}

func off(state process.State, limit unit.Amperes) process.Command {
	return process.Command{State: state, Limit: limit}
}

func TestOrderOnTheWire(t *testing.T) {
	for name, c := range map[string]struct {
		commands []process.Command
		want     []string
	}{
		"idle writes and reads back zero once": {
			[]process.Command{off(process.Idle, 0), off(process.Idle, 0)},
			[]string{"off", "curr 0.00", "volt 0.00", "off"}},
		"limit and setpoint stand before the output goes on": {
			[]process.Command{off(process.Checking, 1), on(process.ContactCheck, 0.05, 1)},
			[]string{"off", "curr 1.00", "volt 0.00", "volt 0.05", "on", "off"}},
		"limit down comes before setpoint up": {
			[]process.Command{on(process.Ramping, 5, 2), on(process.Ramping, 6, 1)},
			[]string{"off", "curr 2.00", "volt 5.00", "on", "curr 1.00", "volt 6.00", "off"}},
		"setpoint down comes before limit up": {
			[]process.Command{on(process.Ramping, 6, 1), on(process.Ramping, 5, 2)},
			[]string{"off", "curr 1.00", "volt 6.00", "on", "volt 5.00", "curr 2.00", "off"}},
		"off comes before everything else": {
			[]process.Command{on(process.Holding, 70, 1), off(process.Discharging, 0.5)},
			[]string{"off", "curr 1.00", "volt 70.00", "on", "off", "curr 0.50", "volt 0.00", "off"}},
		"a change below one step of the supply is no news": {
			[]process.Command{on(process.Ramping, 5, 1), on(process.Ramping, 5.004, 1), on(process.Ramping, 5.011, 1)},
			[]string{"off", "curr 1.00", "volt 5.00", "on", "volt 5.01", "off"}},
		"the output goes on once": {
			[]process.Command{on(process.Holding, 5, 1), on(process.Holding, 5, 1), on(process.Holding, 5, 1)},
			[]string{"off", "curr 1.00", "volt 5.00", "on", "off"}},
	} {
		t.Run(name, func(t *testing.T) {
			s := newStand(len(c.commands), Options{}, c.commands...)
			require.ErrorIs(t, s.Run(context.Background()), errEnough)
			assert.Equal(t, c.want, only(s.wire.lines()))
		})
	}
}

func TestOffIsTheFirstAndTheLastThingSaid(t *testing.T) {
	s := newStand(3, Options{}, off(process.Idle, 0))
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	lines := s.wire.lines()
	assert.Equal(t, "off", lines[0])
	assert.Equal(t, "off", lines[len(lines)-1])
}

func TestStationThatCannotSwitchOffDoesNothingElse(t *testing.T) {
	s := newStand(3, Options{}, off(process.Idle, 0))
	s.wire.fail["off"] = hal.ErrGone
	err := s.Run(context.Background())
	require.ErrorIs(t, err, hal.ErrGone)
	assert.Equal(t, []string{"off"}, s.wire.lines())
	assert.ErrorIs(t, s.Start(request()), ErrStationClosed)
}

func TestOutputThatDoesNotGoOnIsSwitchedOff(t *testing.T) {
	s := newStand(2, Options{}, off(process.Checking, 1), on(process.ContactCheck, 1, 1))
	s.wire.fail["on"] = hal.ErrTimeout
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, []string{"off", "curr 1.00", "volt 0.00", "volt 1.00", "on", "off", "off"}, only(s.wire.lines()))
}

func TestOffIsAskedAgainUntilItIsConfirmed(t *testing.T) {
	s := newStand(4, Options{}, on(process.Holding, 5, 1), off(process.Discharging, 1))
	s.core.decide = func(in *process.Input) process.Command {
		if len(s.core.inputs) == 1 {
			return on(process.Holding, 5, 1)
		}
		s.wire.change(func() { s.wire.fail["off"] = hal.ErrTimeout })
		return off(process.Discharging, 1)
	}
	require.ErrorIs(t, s.Run(context.Background()), hal.ErrTimeout)
	assert.Equal(t, []string{"off", "curr 1.00", "volt 5.00", "on", "off", "off", "off", "off"}, only(s.wire.lines()),
		"nothing but off goes out on a link that is not trusted")
	assert.Equal(t, "unknown", s.Snapshot().Supply.Output, "an output that did not confirm off is never said to be off")
}

func TestOpenLidSkipsTheExchange(t *testing.T) {
	s := newStand(2, Options{})
	s.core.decide = func(in *process.Input) process.Command {
		if in.Interlock.Closed != [2]bool{true, true} {
			return off(process.Discharging, 1)
		}
		s.wire.change(func() { s.wire.lid = [2]bool{true, false} })
		return on(process.Holding, 5, 1)
	}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	lines := s.wire.lines()
	last := lines[len(lines)-5:]
	assert.Equal(t, []string{"on", "lid", "off", "volt 0.00", "off"}, last, "the lid, and then at once off")
	assert.False(t, s.core.inputs[1].Reading.OK)
}

func TestWhatDriversSayReachesTheProcess(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*wire)
		want  fault.Code
	}{
		"out of step":    {func(w *wire) { w.fail["measure"] = fmt.Errorf("measure: %w", hal.ErrDesync) }, fault.SupplyOutOfStep},
		"own trip":       {func(w *wire) { w.fail["measure"] = hal.ErrTripped }, fault.SupplyTripped},
		"panel":          {func(w *wire) { w.fail["measure"] = hal.ErrLocal }, fault.SupplyTouched},
		"stray":          {func(w *wire) { w.fail["measure"] = hal.ErrStray }, fault.SupplyDisobeys},
		"no answer":      {func(w *wire) { w.fail["measure"] = hal.ErrTimeout }, ""},
		"gone":           {func(w *wire) { w.fail["measure"] = hal.ErrGone }, ""},
		"no reading":     {func(w *wire) { w.fail["measure"] = hal.ErrNoReading }, ""},
		"restarted":      {func(w *wire) { w.state.Restarted = true }, fault.SupplyRestarted},
		"tripped, asked": {func(w *wire) { w.state.Tripped = "over-temperature" }, fault.SupplyTripped},
		"error queue":    {func(w *wire) { w.state.Errors = []string{`-222,"Data out of range"`} }, fault.SupplyDisobeys},
		"both at once":   {func(w *wire) { w.fail["measure"], w.state.Restarted = hal.ErrDesync, true }, fault.SupplyOutOfStep},
	} {
		t.Run(name, func(t *testing.T) {
			s := newStand(1, Options{}, off(process.Idle, 0))
			c.spoil(s.wire)
			require.ErrorIs(t, s.Run(context.Background()), errEnough)
			assert.Equal(t, c.want, s.core.inputs[0].Link)
			assert.Equal(t, s.wire.state.Tripped != "", s.core.inputs[0].Held.Tripped, "an acknowledgement asks for it")
			if s.wire.fail["measure"] != nil {
				assert.Equal(t, process.Reading{}, s.core.inputs[0].Reading, "what was not read is no reading")
			}
		})
	}
}

func TestSetpointThatIsNotTakenIsAskedOnceMoreThenTold(t *testing.T) {
	s := newStand(2, Options{}, off(process.Checking, 1))
	s.wire.fail["volt"] = hal.ErrMismatch
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, []string{"off", "curr 1.00", "volt 0.00", "volt 0.00", "curr 1.00", "volt 0.00", "volt 0.00", "off"}, only(s.wire.lines()))
	assert.Equal(t, fault.Code(""), s.core.inputs[0].Link)
	assert.Equal(t, fault.SupplyDisobeys, s.core.inputs[1].Link)
}

func TestImplausibleReadingIsNone(t *testing.T) {
	s := newStand(1, Options{}, on(process.Holding, 5, 1))
	for _, bad := range []hal.Sample{
		{Volts: unit.Volts(Unknown())}, {Amperes: unit.Amperes(Unknown())}, {Volts: 9.91e37}, {Volts: 145}, {Volts: -2.1},
		{Amperes: 6.1}, {Amperes: -3},
	} {
		assert.False(t, s.plausible(bad), "%+v", bad)
	}
	assert.True(t, s.plausible(hal.Sample{Volts: 119, Amperes: 4.9}))
	assert.True(t, s.plausible(hal.Sample{Volts: -0.02, Amperes: -0.001}))
}

func TestLateTickIsAnInput(t *testing.T) {
	s := newStand(4, Options{}, off(process.Idle, 0))
	s.pace.gaps = map[int]time.Duration{3: 1400 * time.Millisecond}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	var at []float64
	for _, in := range s.core.inputs {
		at = append(at, float64(in.Now))
	}
	assert.InDeltaSlice(t, []float64{0, 0.1, 1.6, 1.7}, at, 1e-9, "the true time, and no tick made up for")
	assert.EqualValues(t, 1, s.Snapshot().Loop.Overruns)
	assert.ErrorIs(t, s.Run(context.Background()), ErrRanBefore)
}

func TestSupplyIsCheckedOnceASecondAndInEachTickOfChecking(t *testing.T) {
	count := func(state process.State) (n int) {
		s := newStand(30, Options{}, off(state, 0))
		require.ErrorIs(t, s.Run(context.Background()), errEnough)
		for _, line := range s.wire.lines() {
			if line == "check" {
				n++
			}
		}
		return n
	}
	assert.Equal(t, 3, count(process.Idle))
	assert.Equal(t, 30, count(process.Checking))
}

// guarded is a wire whose supply has an over-voltage trip of its own.
type guarded struct{ *wire }

func (g guarded) SetOvervoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	return v, g.say(ctx, "ovp", fmt.Sprintf("ovp %.2f", v))
}

func TestOwnTripOfTheSupplyStandsBeforeTheOutputGoesOn(t *testing.T) {
	s := newStand(20, Options{ClockWaits: true})
	s.core.run(2)
	s.protector = guarded{s.wire}
	follow(t, s)
	assert.Equal(t, []string{"off", "ovp 10.00", "curr 1.00", "volt 0.00", "on", "off"}, only(s.wire.lines())[:6])

	s = newStand(20, Options{ClockWaits: true})
	s.core.run(2)
	s.protector = guarded{s.wire}
	s.wire.fail["ovp"] = hal.ErrMismatch
	follow(t, s)
	assert.NotContains(t, s.wire.lines(), "on", "a supply that does not take its own trip is not energised")
	assert.Equal(t, fault.SupplyDisobeys, s.core.inputs[1].Link)
}

func TestOneFailedExchangeATick(t *testing.T) {
	s := newStand(1, Options{}, on(process.Holding, 5, 1))
	s.wire.fail["measure"] = hal.ErrTimeout
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, []string{"off", "lid", "measure", "off"}, s.wire.lines(), "what follows a silence could only make the tick late")
}
