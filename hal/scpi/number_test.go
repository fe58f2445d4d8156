package scpi

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/hal"
)

func TestNumbers(t *testing.T) {
	for text, want := range map[string]float64{
		"1": 1, "+1.23450E+01": 12.345, "-0.5": -0.5, ".5": 0.5, "5.": 5, " 12.5 ": 12.5, "1e3": 1000,
		"12.345V": 12.345, "0.5 A": 0.5, "+0": 0, "1.2E-1 V": 0.12, "8.9E+36": 8.9e36,
	} {
		got, err := ParseNumber([]byte(text))
		require.NoError(t, err, text)
		assert.InDelta(t, want, got, 0, text)
	}
}

// TestNoReadings: SCPI-99 writes not-a-number as 9.91E37 and the infinities as
// 9.9E37 and -9.9E37, and strconv.ParseFloat takes words and forms that no
// instrument writes. The first kind leaves the link in step, the second does not.
func TestNoReadings(t *testing.T) {
	for text, garbled := range map[string]bool{
		"9.91E37": false, "9.91000E+37": false, "9.9E+37": false, "-9.9E+37": false, "": false, "   ": false,
		"NAN": false, "nan": false, "INF": false, "-inf": false, "+Infinity": false, "1E400": false,
		"0x1p4": true, "1_000": true, "1e": true, "e5": true, ".": true, "+": true, "1.2.3": true, "12,5": true,
		"12.5mV": true, "OK": true, "12.5\r": true, "--1": true, "1 2": true, strings.Repeat("1", 60): true,
	} {
		got, err := ParseNumber([]byte(text))
		require.ErrorIs(t, err, hal.ErrNoReading, "%q", text)
		assert.True(t, math.IsNaN(got), "%q", text)
		assert.Equal(t, garbled, losesStep(err), "%q", text)
	}
}

// TestPublishedNumbers: the decimal numbers in the unit tests of a public SCPI
// parser library (j123b567/scpi-parser). Other bases, prefixes and MIN or MAX are
// for commands, not for answers.
func TestPublishedNumbers(t *testing.T) {
	text, err := os.ReadFile("testdata/published/scpi_488_2_examples.json")
	require.NoError(t, err)
	var published struct {
		Numbers []struct {
			Text, Value, Unit string
			Special, OK       bool
			Base              int
		}
	}
	require.NoError(t, json.Unmarshal(text, &published))
	tried := 0
	for _, n := range published.Numbers {
		if n.Special || !n.OK || n.Base != 10 || strings.ContainsAny(n.Text, "mM") && n.Unit == "SCPI_UNIT_VOLT" || n.Unit == "SCPI_UNIT_OHM" {
			continue
		}
		tried++
		want, err := strconv.ParseFloat(n.Value, 64)
		require.NoError(t, err)
		got, err := ParseNumber([]byte(n.Text))
		require.NoError(t, err, n.Text)
		assert.InDelta(t, want, got, 1e-12, n.Text)
	}
	require.GreaterOrEqual(t, tried, 3)
}

// TestRoundDown: a step's own value stays, whatever the binary fraction; nothing
// is ever rounded up by more than a millionth of a step.
func TestRoundDown(t *testing.T) {
	assert.InDelta(t, 1.15, roundDown(1.15, 2), 1e-12)
	assert.InDelta(t, 1.14, roundDown(1.1499, 2), 1e-12)
	assert.InDelta(t, 3, roundDown(3.99, 0), 0)
	rapid.Check(t, func(t *rapid.T) {
		decimals := rapid.IntRange(0, 6).Draw(t, "decimals")
		steps := rapid.IntRange(0, 1e8).Draw(t, "steps")
		part := rapid.Float64Range(0, 0.999).Draw(t, "part")
		text := strconv.FormatFloat(float64(steps)/math.Pow10(decimals), 'f', decimals, 64)
		exact, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		require.Equal(t, text, strconv.FormatFloat(roundDown(exact, decimals), 'f', decimals, 64))
		between := roundDown((float64(steps)+part)/math.Pow10(decimals), decimals)
		require.LessOrEqual(t, between, (float64(steps)+part+1e-5)/math.Pow10(decimals))
	})
}

func FuzzParseNumber(f *testing.F) {
	for _, seed := range []string{"+1.23450E+01", "9.91E37", "0x1p4", "nan", "12.5V", "", "1_0", "-.5e-3"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		value, err := ParseNumber(text)
		if err != nil {
			require.ErrorIs(t, err, hal.ErrNoReading)
			require.True(t, math.IsNaN(value))
			return
		}
		require.Less(t, math.Abs(value), 9.1e36)
		again, err := ParseNumber(strconv.AppendFloat(nil, value, 'E', -1, 64))
		require.NoError(t, err)
		require.InDelta(t, value, again, 0)
	})
}
