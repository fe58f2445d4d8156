package virtual

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/unit"
)

func TestSetpointsAreRoundedDownAndBounded(t *testing.T) {
	s := newBench(t, Setup{}).Supply()
	ctx := context.Background()
	for wanted, want := range map[unit.Volts]unit.Volts{1.15: 1.15, 12.349: 12.34, 0: 0, 120: 120, 0.009: 0} {
		got, err := s.SetVoltage(ctx, wanted)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	for _, wrong := range []float64{-0.001, 120.01, math.NaN(), math.Inf(1)} {
		got, err := s.SetVoltage(ctx, unit.Volts(wrong))
		require.ErrorIs(t, err, hal.ErrRange)
		require.True(t, math.IsNaN(float64(got)))
		amperes, err := s.SetCurrent(ctx, unit.Amperes(wrong))
		require.ErrorIs(t, err, hal.ErrRange)
		require.True(t, math.IsNaN(float64(amperes)))
	}
	amperes, err := s.SetCurrent(ctx, 0.6789)
	require.NoError(t, err)
	require.Equal(t, unit.Amperes(0.678), amperes)
}

func TestEnergiseNeedsBothLimitsSinceTheLinkWasClean(t *testing.T) {
	b := newBench(t, Setup{Faults: []Fault{{ID: "late-reply", At: AfterStart(1), For: 500e6}}})
	s, ctx := b.Supply(), context.Background()
	require.ErrorIs(t, s.Energise(ctx), hal.ErrRefused)
	set := func() {
		_, err := s.SetVoltage(ctx, 1)
		require.NoError(t, err)
		require.ErrorIs(t, s.Energise(ctx), hal.ErrRefused)
		_, err = s.SetCurrent(ctx, 1)
		require.NoError(t, err)
	}
	set()
	for range 20 {
		_, err := b.Next(ctx)
		require.NoError(t, err)
		if b.Truth().Seconds == 1.2 {
			_, err = s.Measure(ctx)
			require.ErrorIs(t, err, hal.ErrTimeout)
		}
	}
	require.ErrorIs(t, s.Energise(ctx), hal.ErrRefused, "the link was dirty")
	set()
	require.NoError(t, s.Energise(ctx))
	on, err := s.Energised(ctx)
	require.NoError(t, err)
	require.True(t, on)
}

func TestCancelledContextDoesNotStopHalt(t *testing.T) {
	b := newBench(t, Setup{})
	l := begin(t, b, 1)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := l.supply.Measure(ctx)
	require.ErrorIs(t, err, context.Canceled)
	_, err = b.Interlock().Channels(ctx)
	require.ErrorIs(t, err, context.Canceled)
	_, _, err = b.Thermometer().Temperature(ctx)
	require.ErrorIs(t, err, context.Canceled)
	require.NoError(t, l.supply.Halt(ctx))
	require.NoError(t, l.supply.Halt(ctx))
	require.False(t, b.Truth().Output)
}

func TestHaltOnABrokenLink(t *testing.T) {
	for id, heard := range map[string]bool{"supply-silent": true, "supply-unplugged": false, "garbage": true} {
		b := newBench(t, Setup{Faults: []Fault{{ID: id, At: AfterOn(0), For: Forever}}})
		l := begin(t, b, 1)
		l.tick()
		require.Error(t, l.supply.Halt(context.Background()), id)
		require.Equal(t, heard, !b.Truth().Output, id)
		on, err := l.supply.Energised(context.Background())
		require.Error(t, err)
		require.True(t, on, "unknown counts as on")
	}
}

func TestIdentitySaysSimulated(t *testing.T) {
	id, err := newBench(t, Setup{Seed: 42, Version: "1,2"}).Supply().Identify(context.Background())
	require.NoError(t, err)
	require.True(t, id.Simulated())
	require.Equal(t, hal.Identity{Maker: "ANODIZED", Model: "SIMULATED BENCH", Serial: "42", Firmware: "1 2"}, id)
}

func TestLimits(t *testing.T) {
	limits := newBench(t, Setup{HighestVolts: 60, HighestAmperes: 3}).Supply().Limits()
	require.Equal(t, hal.Limits{HighestVolts: 60, HighestAmperes: 3, VoltStep: 0.01, AmpereStep: 0.001,
		Settle: 150e6, Exchange: exchangeTakes, MainsReturn: "halted"}, limits)
}

// TestClampIsNoKnob: what the supply made of our own setting was turned by nobody.
func TestClampIsNoKnob(t *testing.T) {
	l := begin(t, newBench(t, Setup{Faults: []Fault{{ID: "setpoint-clamped", At: AtVolts(15), Size: 10}}}), 1)
	l.ramp(15, 0)
	for range 2 { // as its owner asks once more
		_, err := l.supply.SetVoltage(context.Background(), 15.1)
		require.ErrorIs(t, err, hal.ErrMismatch)
		require.NotErrorIs(t, err, hal.ErrLocal)
	}
}

// TestSpoiltAnswersAreNoReadingUntilTheStepIsLost: what lasts less than a second a driver
// gets over, by any way to a supply.
func TestSpoiltAnswersAreNoReadingUntilTheStepIsLost(t *testing.T) {
	for _, id := range []string{"garbage", "doubled-reply", "merged-reply"} {
		b := newBench(t, Setup{Faults: []Fault{{ID: id, At: AfterStart(1.05), For: Forever}}})
		_, err := b.Supply().Measure(t.Context())
		require.NoError(t, err)
		for tick := 1; tick <= 22; tick++ {
			_, err := b.Next(t.Context())
			require.NoError(t, err)
			_, err = b.Supply().Measure(t.Context())
			switch {
			case tick <= 10:
				require.NoError(t, err)
			case tick <= 20: // 0.9 s behind the first
				require.ErrorIs(t, err, hal.ErrNoReading, "%s, tick %d", id, tick)
				require.NotErrorIs(t, err, hal.ErrDesync)
			default:
				require.ErrorIs(t, err, hal.ErrDesync, id)
			}
		}
	}
}
