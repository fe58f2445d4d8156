package haltest

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/unit"
)

// BeaconRig is a beacon and an eye on its lamps.
type BeaconRig struct {
	Beacon hal.Beacon
	Lit    func() string // what can be seen and heard, "" when all is dark and quiet
	Gone   func()
}

// Beacon holds a beacon against its contract.
func Beacon(t *testing.T, open func(t *testing.T) BeaconRig) {
	t.Run("EachSignalLooksItsOwn", func(t *testing.T) {
		r, seen := open(t), map[string]hal.Signal{}
		require.Empty(t, r.Lit(), "it starts dark")
		for s := hal.SignalOff; s <= hal.SignalTrip; s++ {
			require.NoError(t, r.Beacon.Show(s))
			before, same := seen[r.Lit()]
			require.False(t, same, "signals %d and %d look alike: %s", before, s, r.Lit())
			seen[r.Lit()] = s
		}
		require.NoError(t, r.Beacon.Halt())
		require.Empty(t, r.Lit())
	})
	t.Run("UnknownSignalIsError", func(t *testing.T) {
		require.ErrorIs(t, open(t).Beacon.Show(hal.SignalTrip+1), hal.ErrRange)
	})
	t.Run("UnreachableBeaconIsError", func(t *testing.T) {
		r := open(t)
		r.Gone()
		require.ErrorIs(t, r.Beacon.Show(hal.SignalReady), hal.ErrGone)
		require.ErrorIs(t, r.Beacon.Halt(), hal.ErrGone)
	})
}

// VoltmeterRig is an independent voltmeter and the hands on its cell.
type VoltmeterRig struct {
	Voltmeter hal.Voltmeter
	Volts     unit.Volts            // what it should show
	Tolerance unit.Volts            // by how much it may miss it
	Wait      func(d time.Duration) // lets the rig's time pass
	Break     func()                // no reading comes any more
}

// Voltmeter holds a voltmeter against its contract.
func Voltmeter(t *testing.T, open func(t *testing.T) VoltmeterRig) {
	t.Run("ShowsTheCell", func(t *testing.T) {
		r := open(t)
		volts, at, err := r.Voltmeter.Voltage(context.Background())
		require.NoError(t, err)
		require.InDelta(t, float64(r.Volts), float64(volts), float64(r.Tolerance))
		r.Wait(2 * time.Second)
		_, later, err := r.Voltmeter.Voltage(context.Background())
		require.NoError(t, err)
		require.True(t, later.After(at), "readings go on")
	})
	t.Run("NoVoltsIsNoNumber", func(t *testing.T) {
		r := open(t)
		r.Break()
		volts, _, err := r.Voltmeter.Voltage(context.Background())
		require.Error(t, err)
		require.True(t, math.IsNaN(float64(volts)))
	})
}
