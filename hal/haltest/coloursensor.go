package haltest

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// ColourSensorRig is a colour sensor and the hands that lay things under it.
type ColourSensorRig struct {
	Sensor hal.ColourSensor
	White  func() // lays the white reference under it
	Part   func() // lays a part under it
	Dark   func() // leaves nothing and no light
	Gone   func() // takes the sensor itself away; nil: it cannot be
}

// ColourSensorSuite says how to build rigs.
type ColourSensorSuite struct {
	Run  func(t *testing.T, test func(t *testing.T)) // nil: as it is
	Open func(t *testing.T) ColourSensorRig          // must clean up through t
	Tell func(test, outcome string)                  // may be nil
}

// whiteError is by how much the white reference may miss 1.
const whiteError = 0.02

// ColourSensor holds a colour sensor against its contract.
func ColourSensor(t *testing.T, suite ColourSensorSuite) {
	each(t, suite.Run, suite.Tell, suite.Open, []contractTest[ColourSensorRig]{
		{"WhiteReadsOne", nil, whiteReadsOne},
		{"BandsAscend", nil, bandsAscend},
		{"PartIsNoLight", nil, partIsNoLight},
		{"DarkIsNoReading", nil, darkIsNoReading},
		{"SensorGoneIsGone", func(r ColourSensorRig) bool { return r.Gone != nil }, sensorGone},
	})
}

func whiteReadsOne(t *testing.T, r ColourSensorRig) {
	r.White()
	s := requireSpectrum(t, r)
	for i, reflectance := range s.Reflectance {
		require.InDelta(t, 1, reflectance, whiteError, "at %v nm", float64(s.Nanometres[i]))
	}
}

func bandsAscend(t *testing.T, r ColourSensorRig) {
	r.White()
	s := requireSpectrum(t, r)
	require.GreaterOrEqual(t, len(s.Nanometres), 3, "a colour has three dimensions")
	require.IsIncreasing(t, s.Nanometres)
	require.Greater(t, float64(s.Nanometres[0]), 300.0, "light, in nanometres")
	require.Less(t, float64(s.Nanometres[len(s.Nanometres)-1]), 1100.0)
}

// partIsNoLight: a part gives back some of the light, and none of its own.
func partIsNoLight(t *testing.T, r ColourSensorRig) {
	r.Part()
	for _, reflectance := range requireSpectrum(t, r).Reflectance {
		require.GreaterOrEqual(t, reflectance, -whiteError)
		require.LessOrEqual(t, reflectance, 1+whiteError)
	}
}

func darkIsNoReading(t *testing.T, r ColourSensorRig) {
	r.Dark()
	s, err := r.Sensor.Measure(context.Background())
	require.ErrorIs(t, err, hal.ErrNoReading)
	require.Empty(t, s.Reflectance, "no reading is not a black part")
	r.White()
	requireSpectrum(t, r)
}

func sensorGone(t *testing.T, r ColourSensorRig) {
	r.White()
	r.Gone()
	s, err := r.Sensor.Measure(context.Background())
	require.ErrorIs(t, err, hal.ErrGone)
	require.Empty(t, s.Reflectance)
}

func requireSpectrum(t *testing.T, r ColourSensorRig) hal.Spectrum {
	t.Helper()
	s, err := r.Sensor.Measure(context.Background())
	require.NoError(t, err)
	require.Len(t, s.Reflectance, len(s.Nanometres))
	require.False(t, s.At.IsZero())
	return s
}
