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

// VoltmeterRig is an independent voltmeter and the hands on its cell.
type VoltmeterRig struct {
	Voltmeter hal.Voltmeter
	Volts     unit.Volts            // what it should show
	Tolerance unit.Volts            // by how much it may miss it
	Settle    time.Duration         // until the first reading
	Wait      func(d time.Duration) // lets the rig's time pass
	Break     func()                // no reading comes any more
	Mend      func()                // and it comes again; nil: it cannot be mended
}

// VoltmeterSuite says how to build rigs.
type VoltmeterSuite struct {
	Run  func(t *testing.T, test func(t *testing.T)) // nil: as it is
	Open func(t *testing.T) VoltmeterRig             // must clean up through t
	Tell func(test, outcome string)                  // may be nil
}

// Voltmeter holds a voltmeter against its contract.
func Voltmeter(t *testing.T, suite VoltmeterSuite) {
	each(t, suite.Run, suite.Tell, suite.Open, []contractTest[VoltmeterRig]{
		{"ShowsTheCell", nil, showsTheCell},
		{"NoVoltsIsNoNumber", nil, noVoltsIsNoNumber},
		{"VoltmeterNeverWaits", nil, voltmeterNeverWaits},
		{"VoltmeterComesBack", func(r VoltmeterRig) bool { return r.Mend != nil }, voltmeterComesBack},
	})
}

func showsTheCell(t *testing.T, r VoltmeterRig) {
	r.Wait(max(r.Settle, time.Millisecond))
	volts, at, err := r.Voltmeter.Voltage(context.Background())
	require.NoError(t, err)
	require.InDelta(t, float64(r.Volts), float64(volts), float64(r.Tolerance))
	require.False(t, at.IsZero())
	r.Wait(time.Second)
	_, later, err := r.Voltmeter.Voltage(context.Background())
	require.NoError(t, err)
	require.True(t, later.After(at), "readings go on, at least once a second")
}

func noVoltsIsNoNumber(t *testing.T, r VoltmeterRig) {
	r.Wait(max(r.Settle, time.Millisecond))
	r.Break()
	r.Wait(3 * time.Second)
	volts, _, err := r.Voltmeter.Voltage(context.Background())
	require.Error(t, err)
	require.True(t, math.IsNaN(float64(volts)))
}

// voltmeterNeverWaits: the tick that asks it must not be held up, whatever the meter
// does. A call may take as long as a busy computer makes it, never as long as an answer.
func voltmeterNeverWaits(t *testing.T, r VoltmeterRig) {
	r.Wait(max(r.Settle, time.Millisecond))
	r.Break()
	least := time.Hour
	for range 10 {
		began := time.Now()
		_, _, _ = r.Voltmeter.Voltage(context.Background()) // whether it has a reading still is not asked here
		least = min(least, time.Since(began))
	}
	require.Less(t, least, 5*time.Millisecond)
}

func voltmeterComesBack(t *testing.T, r VoltmeterRig) {
	r.Wait(max(r.Settle, time.Millisecond))
	r.Break()
	r.Wait(3 * time.Second)
	_, _, err := r.Voltmeter.Voltage(context.Background())
	require.Error(t, err)
	r.Mend()
	r.Wait(3 * time.Second)
	volts, _, err := r.Voltmeter.Voltage(context.Background())
	require.NoError(t, err)
	require.InDelta(t, float64(r.Volts), float64(volts), float64(r.Tolerance))
}
