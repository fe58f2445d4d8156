package profiles

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "anodized/hal/haltest/draw" // the same cases on each run
)

func TestAnAnalogueBench(t *testing.T) {
	b, err := ReadBench("bench-analog.yaml", good(t, "bench-analog.yaml"))
	require.NoError(t, err)
	a := b.Supply.Analog
	require.Equal(t, "/dev/i2c-1@0x60", b.Supply.Address, "a bench is known by the place of its voltage")
	require.Equal(t, "halted", b.Supply.Dialect.MainsReturn)
	require.Equal(t, EnableEntry{Line: "SUPPLY-ENABLE", Closed: "high"}, a.Enable)
	gain, offset, err := a.SetVoltage.Line()
	require.NoError(t, err)
	require.InDelta(t, 1.00094, gain, 1e-5)
	require.InDelta(t, -0.0813, offset, 1e-4)
	gain, offset, err = a.SetCurrent.Line()
	require.NoError(t, err)
	require.Equal(t, []float64{1, 0}, []float64{gain, offset}, "without calibration the scale is nominal")
	require.InDelta(t, 122.88, a.ReadVoltage.End(), 1e-9)
	require.InDelta(t, 8.192, a.ReadCurrent.End(), 1e-9)
	require.Equal(t, "max31865", b.Temperature.Driver)
	require.Equal(t, 3, b.Temperature.Wires)

	b, err = ReadBench("fixed.yaml", good(t, "bench-analog-fixed-current.yaml"))
	require.NoError(t, err)
	require.Nil(t, b.Supply.Analog.SetCurrent)
	require.InDelta(t, 2, float64(b.Supply.Analog.FixedLimit), 0)
	require.InDelta(t, 85, float64(b.Supply.Analog.ReadVoltage.Span), 0)
	require.InDelta(t, 0.04096, float64(b.Supply.Analog.ReadCurrent.Span), 0)
	require.Equal(t, "kernel", b.Temperature.Through)
}

// TestStraightFindsTheLine: any line within the bounds is found again exactly; a
// middle point that is off by more than half a per cent refuses it.
func TestStraightFindsTheLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		full := rapid.Float64Range(1, 300).Draw(t, "full scale")
		gain := rapid.Float64Range(0.951, 1.049).Draw(t, "gain")
		offset := full * rapid.Float64Range(-0.0099, 0.0099).Draw(t, "offset")
		point := func(share float64) StraightPoint {
			return StraightPoint{Nominal: share * full, Metered: gain*share*full + offset}
		}
		s := Straight{Low: point(0.1), Middle: point(0.5), High: point(0.9)}
		found, at, err := s.Line(full)
		require.NoError(t, err)
		require.InDelta(t, gain, found, 1e-9)
		require.InDelta(t, offset, at, 1e-9*full)
		s.Middle.Metered += full * rapid.SampledFrom([]float64{-0.0051, 0.0051}).Draw(t, "bend")
		_, _, err = s.Line(full)
		require.ErrorContains(t, err, "off the line")
	})
}

func TestStraightRefusesWhatIsFarFromNominal(t *testing.T) {
	straight := func(low, middle, high float64) error {
		_, _, err := Straight{Low: StraightPoint{10, low}, Middle: StraightPoint{50, middle}, High: StraightPoint{90, high}}.Line(100)
		return err
	}
	require.NoError(t, straight(10.5, 50.5, 90.5))
	require.ErrorContains(t, straight(10.8, 55, 94.9), "more than 5 %")
	require.ErrorContains(t, straight(11.1, 51.1, 91.1), "more than 1 %")
	_, _, err := Straight{}.Line(100)
	require.ErrorContains(t, err, "belongs between 5 and 20 %")
}
