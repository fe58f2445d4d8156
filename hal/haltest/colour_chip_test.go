package haltest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal/haltest"
	"anodized/hal/haltest/stand"
	"anodized/hal/spectral"
	"anodized/hal/virtual"
)

// colourSensorChip is the chip's driver over registers, and under them the parts of the
// virtual bench.
func colourSensorChip(t *testing.T) haltest.ColourSensorRig {
	b, err := virtual.New(setup())
	require.NoError(t, err)
	bench := b.ColourSensor()
	chip := stand.NewSpectral(time.Now, func() []float64 {
		s, err := bench.Measure(t.Context())
		if err != nil {
			return nil // dark
		}
		return s.Reflectance
	})
	sensor, err := spectral.New(spectral.Options{Bus: chip, Milliamps: 20, Gain: 64, White: 1})
	require.NoError(t, err)
	require.NoError(t, sensor.Present(t.Context()))
	require.NoError(t, sensor.TakeDark(t.Context()))
	bench.LayWhite()
	require.NoError(t, sensor.TakeWhite(t.Context()))
	return haltest.ColourSensorRig{Sensor: sensor, White: bench.LayWhite, Dark: bench.TakeAway, Gone: chip.Unplug,
		Part: func() { require.NoError(t, bench.LayPart(0)) }}
}
