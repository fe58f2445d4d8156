package virtual

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// metered runs a load to 20 V on a bench with a voltmeter and gives what that shows.
func metered(t *testing.T, texts ...string) (volts float64, age time.Duration, l *load, err error) {
	t.Helper()
	setup := Setup{Voltmeter: true}
	for _, text := range texts {
		fault, err := ParseFault(text)
		require.NoError(t, err)
		setup.Faults = append(setup.Faults, fault)
	}
	l = begin(t, newBench(t, setup), 1)
	l.ramp(20, 5)
	shown, at, err := l.Voltmeter().Voltage(context.Background())
	return float64(shown), l.Now().Sub(at), l, err
}

func TestVoltmeterShowsTheCell(t *testing.T) {
	volts, age, l, err := metered(t)
	require.NoError(t, err)
	require.InDelta(t, l.Truth().CellVolts, volts, 0.03)
	require.InDelta(t, 0.2, age.Seconds(), 0.21, "it has a reading each 0.4 s")
	require.Nil(t, newBench(t, Setup{}).Voltmeter())
}

func TestFaultsOfTheVoltmeter(t *testing.T) {
	volts, _, l, err := metered(t, "meter-gain@10V")
	require.NoError(t, err)
	require.InDelta(t, 1.02*l.Truth().CellVolts, volts, 0.03)
	volts, _, l, err = metered(t, "meter-offset@10V,size=-0.4")
	require.NoError(t, err)
	require.InDelta(t, l.Truth().CellVolts-0.4, volts, 0.03)
	volts, _, _, err = metered(t, "meter-silent@10V")
	require.ErrorIs(t, err, hal.ErrTimeout)
	require.True(t, math.IsNaN(volts))
	_, _, _, err = metered(t, "meter-silent@10V,for=2s")
	require.NoError(t, err, "it comes back")
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, _, err = newBench(t, Setup{Voltmeter: true}).Voltmeter().Voltage(ctx)
	require.ErrorIs(t, err, context.Canceled)
}

// TestAVoltmeterChangesNothingElse: the readings of a bench do not depend on whether one
// hangs there.
func TestAVoltmeterChangesNothingElse(t *testing.T) {
	require.Equal(t, recorded(t, Setup{Seed: 5}), recorded(t, Setup{Seed: 5, Voltmeter: true}))
}
