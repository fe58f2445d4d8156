package controller

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal"
)

// refused is a station whose supply stops taking off once it is on.
func refused(ticks int, err error) *stand {
	s := newStand(ticks, Options{})
	s.core.decide = func(*process.Input) process.Command {
		if len(s.core.inputs) == 1 {
			return on(process.Holding, 70, 1)
		}
		s.wire.change(func() { s.wire.fail["off"] = err })
		return off(process.Discharging, 1)
	}
	return s
}

func TestSupplyThatDoesNotGoOffIsBroughtToZero(t *testing.T) {
	for name, err := range map[string]error{"refused": hal.ErrRefused, "still on": hal.ErrMismatch, "under panel control": hal.ErrLocal} {
		t.Run(name, func(t *testing.T) {
			s := refused(3, err)
			require.ErrorIs(t, s.Run(context.Background()), err)
			assert.Equal(t, []string{"off", "curr 1.00", "volt 70.00", "on",
				"off", "curr 0.00", "volt 0.00", "off", "curr 0.00", "volt 0.00", // in each tick
				"off", "curr 0.00", "volt 0.00"}, only(s.wire.lines()), "and once more at the end")
			assert.Equal(t, "unknown", s.Snapshot().Supply.Output)
		})
	}
}

func TestSupplyThatTakesNoCurrentOfZeroIsStillBroughtToZeroVolts(t *testing.T) {
	s := refused(2, hal.ErrRefused)
	s.wire.fail["curr"] = nil
	decide := s.core.decide
	s.core.decide = func(in *process.Input) process.Command {
		cmd := decide(in)
		if !cmd.On {
			s.wire.change(func() { s.wire.fail["curr"] = hal.ErrRefused })
		}
		return cmd
	}
	require.ErrorIs(t, s.Run(context.Background()), hal.ErrRefused)
	assert.Equal(t, []string{"off", "curr 0.00", "volt 0.00"}, only(s.wire.lines())[4:7])
}

func TestZeroIsSetNoMoreOnceOffIsConfirmed(t *testing.T) {
	s := refused(4, hal.ErrRefused)
	decide := s.core.decide
	s.core.decide = func(in *process.Input) process.Command {
		cmd := decide(in)
		if len(s.core.inputs) > 2 {
			s.wire.change(func() { delete(s.wire.fail, "off") })
		}
		return cmd
	}
	require.ErrorIs(t, s.Run(context.Background()), errEnough)
	assert.Equal(t, []string{"off", "curr 1.00", "volt 70.00", "on", "off", "curr 0.00", "volt 0.00",
		"off", "curr 1.00", "volt 0.00", "off"}, only(s.wire.lines()))
}

// A supply that cannot be set to zero is brought to its least once, and told of.
func TestSupplyThatCannotBeStarvedIsBroughtToItsLeastOnce(t *testing.T) {
	s := refused(5, hal.ErrRefused)
	s.wire.least = hal.Limits{LeastVolts: 1.5, LeastAmperes: 0.05}
	s.limits.LeastVolts, s.limits.LeastAmperes = 1.5, 0.05
	require.ErrorIs(t, s.Run(context.Background()), hal.ErrRefused)
	assert.Equal(t, []string{"off", "curr 1.00", "volt 70.00", "on",
		"off", "curr 0.00", "volt 0.00", "off", "off", "off", "off"}, only(s.wire.lines()), "off is said in each tick all the same")
	assert.Contains(t, s.trip(fault.OutputStuckOn).Message, "cannot be set below 1.5 V and 0.05 A")
}
