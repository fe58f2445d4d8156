package probe

import (
	"context"
	"errors"
	"math"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/haltest"
	"anodized/hal/unit"
)

// metered watches a meter in the test's bubble.
func metered(t *testing.T, read ReadVolts) *Meter {
	t.Helper()
	m := NewMeter(read)
	ctx, cancel := context.WithCancel(t.Context())
	t.Cleanup(cancel)
	go m.Watch(ctx)
	return m
}

func TestMeterConformance(t *testing.T) {
	haltest.Voltmeter(t, haltest.VoltmeterSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.VoltmeterRig {
		var broken atomic.Bool
		m := metered(t, func(context.Context) (unit.Volts, error) {
			if broken.Load() {
				return 0, errors.New("broken")
			}
			return 61.5, nil
		})
		return haltest.VoltmeterRig{Voltmeter: m, Volts: 61.5, Wait: wait, Break: func() { broken.Store(true) }}
	}})
}

// TestReadingsBelongToTheMiddleOfTheirExchange: a meter that takes 0.4 s measured 0.2 s
// before it answered; that is what its reading is compared at.
func TestReadingsBelongToTheMiddleOfTheirExchange(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		m := metered(t, func(ctx context.Context) (unit.Volts, error) {
			select {
			case <-time.After(400 * time.Millisecond):
			case <-ctx.Done():
			}
			return 5, ctx.Err()
		})
		wait(450 * time.Millisecond)
		_, at, err := m.Voltage(t.Context())
		require.NoError(t, err)
		require.Equal(t, 200*time.Millisecond, at.Sub(began))
		wait(400 * time.Millisecond)
		_, at, err = m.Voltage(t.Context())
		require.NoError(t, err)
		require.Equal(t, 600*time.Millisecond, at.Sub(began), "it is asked again at once")
	})
}

// TestAHangingMeterOnlyAges: the reading stays for 2 s, then there is none, and nobody
// ever waits for it.
func TestAHangingMeterOnlyAges(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		reads, hang := 0, make(chan struct{})
		t.Cleanup(func() { close(hang) })
		m := metered(t, func(context.Context) (unit.Volts, error) {
			if reads++; reads > 1 {
				<-hang
			}
			return 20, nil
		})
		wait(1900 * time.Millisecond)
		asked := time.Now()
		_, at, err := m.Voltage(t.Context())
		require.NoError(t, err)
		require.Equal(t, asked, time.Now())
		require.Equal(t, 1900*time.Millisecond, time.Since(at))
		wait(200 * time.Millisecond)
		volts, _, err := m.Voltage(t.Context())
		require.ErrorIs(t, err, hal.ErrNoReading)
		require.True(t, math.IsNaN(float64(volts)))
	})
}

func TestNotANumberIsNoReadingOfAMeter(t *testing.T) {
	m := NewMeter(func(context.Context) (unit.Volts, error) { return unit.Volts(math.Inf(1)), nil })
	require.ErrorIs(t, m.First(t.Context()), hal.ErrNoReading)
}
