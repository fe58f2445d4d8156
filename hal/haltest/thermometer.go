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

// ThermometerRig is a thermometer and the hands on its bath.
type ThermometerRig struct {
	Thermometer hal.Thermometer
	Bath        unit.Celsius          // what it should show
	Tolerance   unit.Celsius          // by how much it may miss it
	Settle      time.Duration         // until the first reading
	Wait        func(d time.Duration) // lets the rig's time pass
	Break       func()                // no reading comes any more
	SetBath     func(unit.Celsius)    // nil: the rig's bath cannot be changed at once
}

// ThermometerSuite says how to build rigs.
type ThermometerSuite struct {
	Run  func(t *testing.T, test func(t *testing.T))
	Open func(t *testing.T) ThermometerRig
	Tell func(test, outcome string) // may be nil
}

// Thermometer holds a thermometer against its contract.
func Thermometer(t *testing.T, suite ThermometerSuite) {
	each(t, suite.Run, suite.Tell, suite.Open, []contractTest[ThermometerRig]{
		{"ShowsTheBath", nil, showsTheBath},
		{"NoReadingIsNoNumber", func(r ThermometerRig) bool { return r.Break != nil }, noReadingIsNoNumber},
		{"AJumpIsSeenTwice", func(r ThermometerRig) bool { return r.SetBath != nil }, aJumpIsSeenTwice},
	})
}

func showsTheBath(t *testing.T, r ThermometerRig) {
	r.Wait(r.Settle)
	celsius, at, err := r.Thermometer.Temperature(context.Background())
	require.NoError(t, err)
	require.InDelta(t, float64(r.Bath), float64(celsius), float64(r.Tolerance))
	require.False(t, at.IsZero())
	r.Wait(2 * time.Second)
	_, later, err := r.Thermometer.Temperature(context.Background())
	require.NoError(t, err)
	require.True(t, later.After(at), "readings go on")
}

func noReadingIsNoNumber(t *testing.T, r ThermometerRig) {
	r.Wait(r.Settle)
	r.Break()
	r.Wait(10 * time.Second)
	celsius, _, err := r.Thermometer.Temperature(context.Background())
	require.Error(t, err)
	require.True(t, math.IsNaN(float64(celsius)))
}

// aJumpIsSeenTwice: a leap of 8 °C is refused once, and is true when it stays.
func aJumpIsSeenTwice(t *testing.T, r ThermometerRig) {
	r.Wait(r.Settle + 500*time.Millisecond)
	r.SetBath(r.Bath + 8)
	refused := 0
	for range 8 {
		r.Wait(500 * time.Millisecond)
		celsius, _, err := r.Thermometer.Temperature(context.Background())
		if err != nil {
			refused++
			require.ErrorIs(t, err, hal.ErrNoReading)
			require.True(t, math.IsNaN(float64(celsius)))
		}
	}
	require.Contains(t, []int{1, 2}, refused, "for the one second until the next reading")
	celsius, _, err := r.Thermometer.Temperature(context.Background())
	require.NoError(t, err)
	require.InDelta(t, float64(r.Bath+8), float64(celsius), float64(r.Tolerance))
}
