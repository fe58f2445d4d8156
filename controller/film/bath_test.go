package film_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/film"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"
)

func ofTitanium(t require.TestingT) profiles.Growth {
	m, err := profiles.OpenMetal(profiles.DefaultMetal, nil)
	require.NoError(t, err)
	return m.Growth
}

// The film at 50 V for the ends of 1, 0.5, 0.25, 0.15 and 0.05 mA/cm2, computed
// independently for two laws with the same 1.97 nm/V at 0.5 mA/cm2: titanium's usual
// constants, and the stiffest, that Nb, Ta and W are said to follow (5 % a decade, citing
// Ord et al. 1972, doi 10.1149/1.2404226).
func TestAnotherEndByTheSoftnessOfTheBath(t *testing.T) {
	ends := []unit.CurrentDensity{1, 0.5, 0.25, 0.15, 0.05}
	for name, row := range map[string]struct {
		softness float64
		films    []float64
	}{
		"not measured": {0, []float64{95.6, 98.5, 101.6, 104.0, 109.5}},
		"22.84":        {22.84, []float64{95.6, 98.5, 101.6, 104.0, 109.5}},
		"rigid, 46.05": {46.05, []float64{97.0, 98.5, 100.0, 101.1, 103.7}},
	} {
		c := profiles.Calibration{NMPerVolt: 1.97, EndCurrentDensity: 0.5, Softness: row.softness}
		law := film.OfBath(ofTitanium(t), c)
		for i, end := range ends {
			factor, _ := law.Convert(0.5, end, 0)
			assert.InDelta(t, row.films[i], 1.97*factor*50, 0.1, "%s to %v", name, end)
			assert.InDelta(t, row.films[i], float64(law.Thickness(50, end)), 0.1, "%s to %v", name, end)
		}
	}
}

// B = 1e-7 u a and i0 = j e^-u of titanium's usual constants: 4.5e-6 cm/V, 6e-14 A/cm2.
func TestTheConstantsOfABathFromWhatWasMeasuredInIt(t *testing.T) {
	u := math.Log1p(0.5e-3 / 6e-14)
	assert.InDelta(t, 22.84, u, 0.01, "computed independently")
	law := film.OfBath(ofTitanium(t), profiles.Calibration{NMPerVolt: 1e7 * 4.5e-6 / u, EndCurrentDensity: 0.5, Softness: u})
	assert.InEpsilon(t, 6e-14, law.I0, 1e-9)
	assert.InEpsilon(t, 4.5e-6, law.B, 1e-12)
	assert.InEpsilon(t, 0.5e-3*math.Exp(-u), law.I0, 1e-9)
}

// What a ladder's coupons kept of their charge is the bath's: the volts of a charge go with
// it, the film of the volts does not.
func TestTheEfficiencyOfABath(t *testing.T) {
	c := profiles.Calibration{NMPerVolt: 1.97, EndCurrentDensity: 0.5}
	usual := film.OfBath(ofTitanium(t), c)
	c.Efficiency = 0.8
	law := film.OfBath(ofTitanium(t), c)
	assert.Equal(t, usual.NMPerVolt(0.5), law.NMPerVolt(0.5))
	assert.InEpsilon(t, float64(usual.ChargeFor(0, 100, 25))*usual.Efficiency/0.8, float64(law.ChargeFor(0, 100, 25)), 1e-12)
}

func TestASoftnessThatNobodyMeasuredIsKnownBadly(t *testing.T) {
	book := profiles.Calibration{NMPerVolt: 1.97, EndCurrentDensity: 0.5}
	sd := film.SoftnessSD(ofTitanium(t), book)
	assert.Greater(t, 22.84-sd, 15.2-0.1, "the softest law is one standard deviation away")
	assert.Less(t, 22.84+sd, 30.5)
	book.Softness, book.SoftnessSD = 24, 0.4
	assert.Equal(t, 0.4, film.SoftnessSD(ofTitanium(t), book))
	// the sd of the factor is the difference that another softness makes
	law := film.OfBath(ofTitanium(t), book)
	factor, factorSD := law.Convert(0.5, 0.15, 0.4)
	book.Softness = 24.4
	other, _ := film.OfBath(ofTitanium(t), book).Convert(0.5, 0.15, 0.4)
	assert.InEpsilon(t, math.Abs(other-factor), factorSD, 0.05)
}

func TestConversionProperties(t *testing.T) {
	growth := ofTitanium(t)
	rapid.Check(t, func(t *rapid.T) {
		c := profiles.Calibration{NMPerVolt: rapid.Float64Range(1.2, 3.2).Draw(t, "a"), Softness: rapid.Float64Range(12, 60).Draw(t, "u"),
			EndCurrentDensity: unit.CurrentDensity(rapid.Float64Range(0.02, 5).Draw(t, "end"))}
		law := film.OfBath(growth, c)
		require.InEpsilon(t, c.NMPerVolt, law.NMPerVolt(c.EndCurrentDensity), 1e-9, "its own end is as measured")
		require.InEpsilon(t, c.Softness, law.Softness(c.EndCurrentDensity), 1e-9)
		other := unit.CurrentDensity(rapid.Float64Range(0.02, 5).Draw(t, "other"))
		there, sd := law.Convert(c.EndCurrentDensity, other, 1)
		back, _ := law.Convert(other, c.EndCurrentDensity, 1)
		require.InEpsilon(t, 1, there*back, 1e-9, "there and back")
		require.Equal(t, other < c.EndCurrentDensity, there > 1, "less current at the end makes more film")
		require.GreaterOrEqual(t, sd, 0.0)
		same, none := law.Convert(other, other, 1)
		require.Equal(t, []float64{1, 0}, []float64{same, none})
	})
}
