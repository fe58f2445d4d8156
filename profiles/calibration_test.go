package profiles

import (
	"encoding/json"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/hal/unit"
)

func TestTheCalibrationOfALadder(t *testing.T) {
	c, err := OpenCalibration(filepath.Join(goodFolder, "calibration-of-a-ladder.yaml"), nil)
	require.NoError(t, err)
	assert.Equal(t, Calibration{
		ID: "ladder-2026-03-02", Metal: "titanium-grade-5", Finish: "fine blasted", Bath: "bicarbonate",
		Film: "TiO2-Jolivet-amorphous", Substrate: "Ti-Johnson", IndexScale: 0.97,
		NMPerVolt: 2.05, Offset: 1.1, NMPerVoltSD: 0.002, OffsetSD: 0.15, Correlation: -0.84,
		EndCurrentDensity: 0.15, Softness: 24.6, SoftnessSD: 0.3, Efficiency: 0.92, EfficiencySD: 0.02, Ramp: 0.8, Temperature: c.Temperature,
		Date: "2026-03-02", FromVolts: 10, ToVolts: 100, RMSDE00: 0.6, Readings: 19,
		Simulated: true, Provenance: "SIMULATED ladder of eleven coupons",
	}, c)
	assert.InDelta(t, (70-32)/1.8, float64(c.Temperature), 1e-9)
}

// What an older file does not say is not made up: its film is that of the table, and
// its range covers all.
func TestACalibrationThatSaysLittle(t *testing.T) {
	c, err := OpenCalibration("titanium-grade-5-book", nil)
	require.NoError(t, err)
	assert.Equal(t, 1.0, c.Index())
	assert.True(t, c.Covers(3))
	assert.True(t, c.Covers(110))
	assert.Zero(t, c.Softness)
	text, err := json.Marshal(c)
	require.NoError(t, err)
	for _, key := range []string{"finish", "index_scale", "correlation", "softness", "efficiency", "from_volts", "date", "readings_used"} {
		assert.NotContains(t, string(text), key, "what is not known is not there")
	}
}

// The standard deviation of a sum: that of 2.0 nm/V +- 0.002 and 1 nm +- 0.15 with
// correlation -0.84 at 50 V is sqrt(0.1^2 + 0.15^2 - 2 0.84 0.1 0.15), textbook.
func TestHowWellAFilmIsKnown(t *testing.T) {
	c := Calibration{NMPerVolt: 2, NMPerVoltSD: 0.002, Offset: 1, OffsetSD: 0.15, Correlation: -0.84}
	assert.InEpsilon(t, math.Sqrt(0.01+0.0225-0.0252), float64(c.ThicknessSD(50)), 1e-12)
	c.Correlation = 0
	assert.InEpsilon(t, math.Hypot(0.1, 0.15), float64(c.ThicknessSD(50)), 1e-12)
	c.Correlation, c.OffsetSD = -1, 0.1
	assert.Zero(t, c.ThicknessSD(50))
	assert.True(t, Calibration{FromVolts: 10, ToVolts: 95}.Covers(95))
	assert.False(t, Calibration{FromVolts: 10, ToVolts: 95}.Covers(95.1))
	assert.False(t, Calibration{FromVolts: 10, ToVolts: 95}.Covers(9))
}

// anyCalibration is one that a file can say.
func anyCalibration(t *rapid.T) Calibration {
	f := func(name string, least, most float64) float64 { return rapid.Float64Range(least, most).Draw(t, name) }
	c := Calibration{
		ID: rapid.StringMatching(`[a-z][a-z0-9.-]{0,20}`).Draw(t, "id"), Metal: DefaultMetal,
		Finish: rapid.SampledFrom([]string{"", "polished", `"fine": blasted # twice`}).Draw(t, "finish"),
		Bath:   rapid.SampledFrom([]string{"", "bicarbonate"}).Draw(t, "bath"),
		Film:   "TiO2-Siefke", Substrate: "Ti-Mash", IndexScale: f("scale", 0.5, 1.5),
		NMPerVolt: f("nm/V", 0.5, 5), Offset: unit.Nanometres(f("offset", -10, 20)), NMPerVoltSD: f("sd", 0, 2),
		OffsetSD: unit.Nanometres(f("offset sd", 0, 20)), Correlation: f("correlation", -1, 1),
		EndCurrentDensity: unit.CurrentDensity(f("end", 0.001, 5)), Ramp: unit.VoltsPerSecond(f("ramp", 0.01, 20)),
		Temperature: unit.Celsius(f("temperature", 0.01, 60)), Date: "2026-02-28",
		Book: rapid.Bool().Draw(t, "book"), Simulated: rapid.Bool().Draw(t, "simulated"),
		Provenance: rapid.SampledFrom([]string{"a ladder", "two\nlines: of \"it\"", "höchstens 5 % ± 1"}).Draw(t, "provenance"),
	}
	if rapid.Bool().Draw(t, "measured") {
		c.Softness, c.SoftnessSD = f("u", leastSoftness, mostSoftness), f("u sd", 0.001, 3)
		c.Efficiency, c.EfficiencySD = f("efficiency", leastEfficiency, mostEfficiency), f("efficiency sd", 0.001, 0.5)
		c.FromVolts = unit.Volts(f("from", 0, 200))
		c.ToVolts = c.FromVolts + unit.Volts(f("range", 0.1, 200))
		c.RMSDE00, c.Readings = f("rms", 0.001, 100), rapid.IntRange(1, 10000).Draw(t, "readings")
	}
	return c
}

func TestACalibrationIsReadAsItWasWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := anyCalibration(t)
		kind, err := Check("shop.yaml", want.Text())
		require.NoError(t, err, string(want.Text()))
		require.Equal(t, KindCalibration, kind)
		got, err := ReadCalibration("shop.yaml", want.Text())
		require.NoError(t, err)
		require.Equal(t, want, got)
		sd := got.ThicknessSD(50)
		require.False(t, math.IsNaN(float64(sd)) || sd < 0)
	})
}
