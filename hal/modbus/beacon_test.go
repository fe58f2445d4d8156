package modbus

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

func beaconOptions(t *testing.T, b *box) BeaconOptions {
	return BeaconOptions{Line: supplyOptions(t, b).Line, Unit: 1, Timeout: 200 * time.Millisecond, Loopback: true,
		Lamps: []hal.Lamp{hal.White, hal.Red}, Coils: []int{0, 1}}
}

// shining is a stack light on a box with two coils, its Watch running.
func shining(t *testing.T) (*Beacon, *box) {
	b := newBox(TCP)
	b.module = &module{watchdog: true}
	beacon, err := NewBeacon(beaconOptions(t, b))
	require.NoError(t, err)
	require.NoError(t, beacon.Halt())
	ctx, cancel := context.WithCancel(t.Context())
	t.Cleanup(cancel)
	go beacon.Watch(ctx)
	return beacon, b
}

func (b *box) lit() (coils [2]bool) {
	b.do(func() { coils = b.module.coils })
	return coils
}

// TestWhoShowsDoesNotWait: a silent module costs nobody but the lamps' own goroutine.
func TestWhoShowsDoesNotWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		beacon, b := shining(t)
		b.do(func() { b.silent = true })
		began := time.Now()
		require.NoError(t, beacon.Show(hal.SignalTrip), "it is not tried yet")
		require.Zero(t, time.Since(began))
		<-time.After(300 * time.Millisecond)
		began = time.Now()
		require.ErrorIs(t, beacon.Show(hal.SignalTrip), hal.ErrTimeout)
		require.Zero(t, time.Since(began))
		b.do(func() { b.silent = false })
		<-time.After(2500 * time.Millisecond)
		require.NoError(t, beacon.Show(hal.SignalTrip), "and it is tried again")
		require.Equal(t, [2]bool{false, true}, b.lit())
	})
}

// TestLampsComeBackAfterTheModuleLostItsPower, although nobody tells of it.
func TestLampsComeBackAfterTheModuleLostItsPower(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		beacon, b := shining(t)
		require.NoError(t, beacon.Show(hal.SignalEnergised))
		<-time.After(time.Second)
		require.Equal(t, [2]bool{true, false}, b.lit())
		b.do(func() { b.module.coils = [2]bool{} })
		<-time.After(12 * time.Second)
		require.Equal(t, [2]bool{true, false}, b.lit())
	})
}

func TestOnlyWhatChangesIsWritten(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		beacon, b := shining(t)
		require.NoError(t, beacon.Show(hal.SignalEnergised))
		<-time.After(500 * time.Millisecond)
		before := len(b.lines())
		require.NoError(t, beacon.Show(hal.SignalEnergised))
		<-time.After(500 * time.Millisecond)
		require.Len(t, b.lines(), before)
	})
}

func TestBeaconsThatCannotBe(t *testing.T) {
	for want, spoil := range map[string]func(*BeaconOptions){
		"each lamp needs a coil":      func(o *BeaconOptions) { o.Coils = nil },
		"each lamp needs one of its":  func(o *BeaconOptions) { o.Coils[1] = 0 },
		"coil 65536":                  func(o *BeaconOptions) { o.Coils[1] = 65536 },
		"no line was given":           func(o *BeaconOptions) { o.Line = nil },
		"stack light: 0 lamps on 0 c": func(o *BeaconOptions) { o.Lamps, o.Coils = nil, nil },
	} {
		o := beaconOptions(t, newBox(TCP))
		spoil(&o)
		_, err := NewBeacon(o)
		require.ErrorContains(t, err, want)
	}
}
