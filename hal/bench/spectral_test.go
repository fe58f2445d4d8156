package bench

import (
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/i2c"

	"anodized/hal"
	"anodized/hal/haltest/stand"
	"anodized/profiles"
)

// closing is a bus that tells whether it was closed.
type closing struct {
	*stand.Spectral
	closed int
}

func (c *closing) Close() error { c.closed++; return nil }

// The colour sensor of the example file opens on its bus, says that it is there, and does
// not measure before its references. Where it is missing the bench opens all the same.
func TestColourSensorOfABenchFile(t *testing.T) {
	file, err := profiles.OpenBench("../../testdata/good/bench-colour-sensor.yaml", nil)
	require.NoError(t, err)
	require.NoError(t, Check(file))
	for _, there := range []bool{true, false} {
		bus := &closing{Spectral: stand.NewSpectral(time.Now, func() []float64 { return nil })}
		if !there {
			bus.Unplug()
		}
		set := &Set{log: slog.New(slog.DiscardHandler), buses: buses{i2c: func(path string) (i2c.BusCloser, error) {
			require.Equal(t, "/dev/i2c-1", path)
			return bus, nil
		}}}
		require.NoError(t, set.openRest(t.Context(), profiles.Bench{ColourSensor: file.ColourSensor}))
		err := set.ColourSensor.(hal.Presence).Present(t.Context())
		_, reading := set.ColourSensor.Measure(t.Context())
		require.ErrorIs(t, reading, hal.ErrNoReading)
		if there {
			require.NoError(t, err)
		} else {
			require.ErrorIs(t, err, hal.ErrGone)
		}
		require.NoError(t, set.Close())
		require.Equal(t, 1, bus.closed)
	}
}
