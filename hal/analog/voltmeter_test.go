package analog

import (
	"context"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/analog/chip"
	"anodized/hal/haltest"
	"anodized/hal/probe"
)

// atCell is a meter on the board's first monitor, 61.44 V on it.
func atCell(t *testing.T, b *board, scale Scale) *Voltmeter {
	t.Helper()
	lane := NewLane("board")
	t.Cleanup(func() { require.NoError(t, lane.Close()) })
	adc, err := chip.NewADS1115(b, 0x48, 4.096)
	require.NoError(t, err)
	v, err := OpenVoltmeter(t.Context(), Monitor{Lane: lane, Input: adc.Channel(0), Scale: scale})
	require.NoError(t, err)
	return v
}

func nominal() Scale { return Scale{Pin: monitorPin, Means: fullVolts, Gain: 1} }

func charged() *board { return &board{enabled: true, codes: [2]int{2458, 4095}} } // 61.45 V

func TestVoltmeterConformance(t *testing.T) {
	haltest.Voltmeter(t, haltest.VoltmeterSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.VoltmeterRig {
		b := charged()
		meter := probe.NewMeter(atCell(t, b, nominal()).Read)
		ctx, cancel := context.WithCancel(context.Background())
		ended := make(chan struct{})
		go func() { defer close(ended); meter.Watch(ctx) }()
		t.Cleanup(func() { cancel(); <-ended })
		return haltest.VoltmeterRig{Voltmeter: meter, Volts: 61.45, Tolerance: 0.01, Settle: 100 * time.Millisecond, Wait: wait,
			Break: func() { b.do(func() { b.dead = true }) }, Mend: func() { b.do(func() { b.dead = false }) }}
	}})
}

// TestVoltmeterIsCalibrated: what the meter of the calibration showed is what is read.
func TestVoltmeterIsCalibrated(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		scale := nominal()
		scale.Gain, scale.Offset = 1.02, -0.3
		volts, err := atCell(t, charged(), scale).Read(t.Context())
		require.NoError(t, err)
		require.InDelta(t, 1.02*61.45-0.3, float64(volts), 0.01)
	})
}

func TestVoltmeterHasNoReadingOutsideItsRange(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := charged()
		v := atCell(t, b, nominal())
		b.do(func() { b.wild = true })
		volts, err := v.Read(t.Context())
		require.ErrorIs(t, err, hal.ErrNoReading)
		require.True(t, math.IsNaN(float64(volts)))
		v.monitor.Input = fixedInput{volts: -0.2}
		_, err = v.Read(t.Context())
		require.ErrorIs(t, err, hal.ErrNoReading, "its wires are reversed")
		_, err = OpenVoltmeter(t.Context(), Monitor{})
		require.Error(t, err)
		b.do(func() { b.dead = true })
		_, err = OpenVoltmeter(t.Context(), Monitor{Lane: v.monitor.Lane, Input: chip.NewINA226(b, 0x40).Bus(), Scale: nominal()})
		require.Error(t, err)
	})
}
