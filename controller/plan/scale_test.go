package plan_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"
)

// The film at 50 V for several ends, computed independently for a law that is as stiff as
// that of Nb, Ta and W (u 46.05 at 0.5 mA/cm2): the softness of the bath decides, and not
// the usual constants of titanium, which make 104.0 and 109.5 of the last two.
func TestTheSoftnessOfTheBathConvertsTheEnd(t *testing.T) {
	r := purple(t)
	r.Profile.Target, r.Profile.Ceiling = profiles.Target{Volts: 50}, 0
	r.Calibration.Offset = 0
	for softness, films := range map[float64][]float64{0: {95.6, 101.6, 104.0, 109.5}, 46.05: {97.0, 100.0, 101.1, 103.7}} {
		for i, end := range []unit.CurrentDensity{1, 0.25, 0.15, 0.05} {
			r.Calibration.Softness = softness
			r.Profile.End = profiles.End{CurrentDensity: end, Sustained: 5, LongestHold: 900}
			assert.InDelta(t, films[i], float64(build(t, r).Expected.Thickness), 0.1, "u %g to %v", softness, end)
		}
	}
}

// The volts of one film for two ends: with less current at the end, fewer.
func TestAWantedFilmTakesTheVoltsOfItsOwnEnd(t *testing.T) {
	r := purple(t)
	r.Calibration.Softness, r.Calibration.SoftnessSD = 24.6, 0.2
	r.Profile.Target, r.Profile.Ceiling = profiles.Target{Thickness: 140}, 0
	last := unit.Volts(200)
	for _, end := range []unit.CurrentDensity{1, 0.5, 0.15, 0.05} {
		r.Profile.End = profiles.End{CurrentDensity: end, Sustained: 5, LongestHold: 900}
		p := build(t, r)
		assert.InDelta(t, 140, float64(p.Expected.Thickness), 0.03)
		assert.Less(t, p.TargetVolts, last)
		last = p.TargetVolts
	}
}

// 50 V at 20 °C is 50.34 V at 18 °C and 49.16 V at 25 °C for the same film: computed
// independently from 0.34 % a kelvin.
func TestABathThatWasReadAtAnotherTemperature(t *testing.T) {
	r := quiet(t)
	r.Calibration.Temperature, r.Calibration.Offset, r.Temperature = 20, 0, 20
	r.Profile.Target = profiles.Target{Volts: 50}
	film := build(t, r).Expected.Thickness
	for read, want := range map[unit.Celsius]float64{18: 50.34, 20: 50, 25: 49.16} {
		r.Temperature, r.Profile.Target = read, profiles.Target{Thickness: film}
		p := build(t, r)
		assert.InDelta(t, want, float64(p.TargetVolts), 0.01)
		assert.Equal(t, read, p.BathWindow.Law, "the film is reckoned for it")
		assert.Equal(t, read == 25, contains(codes(p), plan.CalibrationOtherTemperature), "%v", read)
	}
	r.Temperature = 0
	p := build(t, r)
	assert.InDelta(t, 50, float64(p.TargetVolts), 0.011, "what was not read changes nothing")
}

// A bath that nobody read is not taken for the ladder's in silence: 0.34 % a kelvin of some
// 100 nm, from 15 to 25 °C, is 1.7 nm either way, computed independently. Neither is a reading
// that converts nothing.
func TestABathThatWasNotRead(t *testing.T) {
	r := quiet(t)
	r.Temperature, r.Calibration.Offset, r.Calibration.NMPerVolt = 0, 0, 2
	r.Profile.Target = profiles.Target{Volts: 50}
	message := func(code string) string {
		for _, w := range build(t, r).Warnings {
			if w.Code == code {
				return w.Message
			}
		}
		return ""
	}
	assert.Contains(t, message(plan.BathNotRead), "from 15 °C to 25 °C, where a load may start, it is -1.7 to +1.7 nm")
	r.Temperature = 20
	assert.Empty(t, message(plan.BathNotRead))
	r.Temperature, r.Calibration.Temperature = 24, 0
	assert.Contains(t, message(plan.TemperatureConvertsNothing), "read at 24 °C")
	r.Temperature = 0
	assert.Empty(t, message(plan.TemperatureConvertsNothing))
	assert.Contains(t, message(plan.BathNotRead), "does not say at which temperature it was made: a kelvin between the two is 0.3 % of film, 0.34 nm")
	r.Calibration.Book = true
	assert.Empty(t, message(plan.BathNotRead), "a book value is not of this bath anyway, and says so")
}

func contains(all []string, one string) bool {
	for _, s := range all {
		if s == one {
			return true
		}
	}
	return false
}

// How well a film is known: of a ladder of 45, 50 and 55 V alone, with 1.9 nm and 0.036
// nm/V, 50 V is still known to 0.14 nm, and 100 V is not (computed independently; the
// correlation that makes it so is -0.99727).
func TestHowWellAFilmIsKnownBeforehand(t *testing.T) {
	r := quiet(t)
	r.Calibration.NMPerVoltSD, r.Calibration.OffsetSD, r.Calibration.Correlation = 0.036, 1.9, -0.99727
	r.Calibration.FromVolts, r.Calibration.ToVolts = 45, 55
	r.Profile.Target = profiles.Target{Volts: 50}
	inside := build(t, r)
	assert.InDelta(t, 0.16, float64(inside.Expected.ThicknessSD), 0.03)
	assert.NotContains(t, codes(inside), plan.CalibrationExtrapolated)
	r.Profile.Target = profiles.Target{Volts: 100}
	outside := build(t, r)
	assert.InDelta(t, 1.71, float64(outside.Expected.ThicknessSD), 0.03)
	assert.Contains(t, codes(outside), plan.CalibrationExtrapolated)
	e := outside.Expected
	assert.InEpsilon(t, float64(e.ThicknessSD)/e.NMPerVolt, float64(e.VoltsSD), 1e-12)
	assert.InEpsilon(t, float64(e.VoltsSD)/e.Tolerance.DE1, e.DE00SD, 1e-12)
}

func TestSurenessProperties(t *testing.T) {
	base := quiet(t)
	rapid.Check(t, func(t *rapid.T) {
		r := base
		c := &r.Calibration
		c.NMPerVoltSD = rapid.Float64Range(0, 0.1).Draw(t, "sd")
		c.OffsetSD = unit.Nanometres(rapid.Float64Range(0, 2).Draw(t, "offset sd"))
		c.Correlation = rapid.Float64Range(-1, 1).Draw(t, "correlation")
		c.Softness, c.SoftnessSD = rapid.Float64Range(15, 50).Draw(t, "u"), rapid.Float64Range(0.01, 2).Draw(t, "u sd")
		c.Temperature = 20
		r.Profile.Target = profiles.Target{Volts: unit.Volts(rapid.Float64Range(15, 60).Draw(t, "volts"))}
		own := build(t, r).Expected
		require.InEpsilon(t, c.NMPerVolt, own.NMPerVolt, 1e-9, "its own end: as it was measured")
		require.InDelta(t, c.NMPerVoltSD, own.NMPerVoltSD, 1e-9)
		require.InDelta(t, float64(c.ThicknessSD(r.Profile.Target.Volts)), float64(own.ThicknessSD), 1e-9)
		// another end, or a bath that was read elsewhere, makes it less sure
		r.Profile.End.CurrentDensity /= unit.CurrentDensity(rapid.Float64Range(1.5, 3).Draw(t, "end"))
		r.Profile.End.LongestHold = 900
		other := build(t, r).Expected
		if other.Outcome != "complete" {
			return // another end than the one that was asked for
		}
		require.Greater(t, other.NMPerVoltSD, own.NMPerVoltSD)
		r.Temperature = unit.Celsius(rapid.Float64Range(21, 24).Draw(t, "read"))
		warm := build(t, r).Expected
		require.Greater(t, warm.NMPerVoltSD, other.NMPerVoltSD)
		require.False(t, math.IsNaN(float64(warm.ThicknessSD)) || math.IsNaN(warm.DE00SD))
	})
}
