package probe

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/haltest"
	"anodized/hal/unit"
)

// wait lets time pass, and what then runs run to its end.
func wait(d time.Duration) {
	<-time.After(d)
	synctest.Wait()
}

// watched runs a probe in the test's bubble.
func watched(t *testing.T, read Read) *Probe {
	t.Helper()
	p := New(read)
	ctx, cancel := context.WithCancel(t.Context())
	t.Cleanup(cancel)
	go p.Watch(ctx)
	return p
}

func TestConformance(t *testing.T) {
	haltest.Thermometer(t, haltest.ThermometerSuite{Run: synctest.Test, Open: func(t *testing.T) haltest.ThermometerRig {
		var bath atomic.Int64
		bath.Store(21)
		p := watched(t, func(context.Context) (unit.Celsius, error) {
			if bath.Load() < 0 {
				return 0, errors.New("broken")
			}
			return unit.Celsius(bath.Load()), nil
		})
		return haltest.ThermometerRig{
			Thermometer: p, Bath: 21, Settle: time.Millisecond, Wait: wait,
			Break: func() { bath.Store(-1) }, SetBath: func(c unit.Celsius) { bath.Store(int64(c)) },
		}
	}})
}

// TestAHangingReadOnlyAges: the reading stays for 5 s, then there is none.
func TestAHangingReadOnlyAges(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		reads, hang := 0, make(chan struct{})
		t.Cleanup(func() { close(hang) })
		p := watched(t, func(context.Context) (unit.Celsius, error) {
			if reads++; reads > 1 {
				<-hang
			}
			return 20, nil
		})
		wait(4 * time.Second)
		began := time.Now()
		_, at, err := p.Temperature(t.Context())
		require.NoError(t, err)
		require.Equal(t, began, time.Now(), "it never waits")
		require.Equal(t, 4*time.Second, time.Since(at), "its age shows")
		wait(1100 * time.Millisecond)
		_, _, err = p.Temperature(t.Context())
		require.ErrorIs(t, err, hal.ErrNoReading)
		require.ErrorContains(t, err, "old")
	})
}

func TestNothingReadYet(t *testing.T) {
	_, _, err := New(nil).Temperature(t.Context())
	require.ErrorIs(t, err, hal.ErrNoReading)
}
