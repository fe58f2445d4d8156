package colour_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

func meter(t *testing.T) *colour.Meter {
	daylight, err := profiles.Illuminant("D65")
	require.NoError(t, err)
	m, err := colour.NewMeter(profiles.Observer(), daylight)
	require.NoError(t, err)
	return m
}

// filmSpectrum is the spectrum of a film as an instrument samples it.
func filmSpectrum(t *testing.T, d unit.Nanometres, step int) profiles.Spectrum {
	oxide, metal := table(t, "TiO2-Jolivet-amorphous"), table(t, "Ti-Johnson")
	var s profiles.Spectrum
	for nm := 400; nm <= 700; nm += step {
		s.Nanometres = append(s.Nanometres, float64(nm))
		s.Reflectance = append(s.Reflectance, reflectance(oxide, metal, unit.Nanometres(nm), d))
	}
	return s
}

// ASTM E308 has weights for spectra of 400 to 700 nm by 20 nm, made by the rules that
// we interpolate by, given to three decimals. They sum 360 to 820 nm, we 380 to 780 nm.
func TestSpectraAgainstThePublishedWeights(t *testing.T) {
	w, ok := weightings(t)["illuminant D65, 2 deg, 20 nm, end-corrected for 400-700 nm data"]
	require.True(t, ok)
	var white colour.XYZ
	for _, row := range w.Weights {
		white = colour.XYZ{X: white.X + row[0], Y: white.Y + row[1], Z: white.Z + row[2]}
	}
	m, worst := meter(t), 0.0
	for d := unit.Nanometres(0); d <= 220; d += 5 {
		s := filmSpectrum(t, d, 20)
		require.Equal(t, w.Nanometres, s.Nanometres)
		var sum colour.XYZ
		for k, r := range s.Reflectance {
			sum = colour.XYZ{X: sum.X + r*w.Weights[k][0], Y: sum.Y + r*w.Weights[k][1], Z: sum.Z + r*w.Weights[k][2]}
		}
		lab, err := m.Lab(s)
		require.NoError(t, err)
		worst = max(worst, colour.Difference(lab, sum.Lab(white)))
	}
	t.Logf("worst CIEDE2000 %.4f", worst)
	assert.Less(t, worst, 0.1)
}

// A spectrum of 10 nm steps gives the film's colour; of 20 nm steps nearly so.
func TestSpectraOfFilmsGiveTheColoursOfFilms(t *testing.T) {
	m, s := meter(t), titanium(t)
	for _, c := range []struct {
		step  int
		limit float64
	}{{10, 0.1}, {20, 0.6}} {
		worst := 0.0
		for d := unit.Nanometres(5); d <= 220; d += 5 {
			lab, err := m.Lab(filmSpectrum(t, d, c.step))
			require.NoError(t, err)
			worst = max(worst, colour.Difference(lab, s.Lab(d)))
		}
		t.Logf("%d nm: worst CIEDE2000 %.4f", c.step, worst)
		assert.Less(t, worst, c.limit)
	}
}

func TestCubicsComeBackFromTheirSamples(t *testing.T) {
	m := meter(t)
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(0.2, 0.6).Draw(t, "a"), rapid.Float64Range(-0.1, 0.1).Draw(t, "b")
		sample := func(step int) profiles.Spectrum {
			var s profiles.Spectrum
			for nm := 380; nm <= 780; nm += step {
				x := float64(nm-580) / 200
				s.Nanometres, s.Reflectance = append(s.Nanometres, float64(nm)), append(s.Reflectance, a+b*x*x)
			}
			return s
		}
		coarse, err := m.Lab(sample(20))
		require.NoError(t, err)
		fine, err := m.Lab(sample(1))
		require.NoError(t, err)
		assert.InDelta(t, 0, colour.Difference(coarse, fine), 1e-9)
	})
}

func TestReadingsForOurSight(t *testing.T) {
	white := filmSpectrum(t, 100, 10)
	lab := [3]float64{50, 10, -20}
	at := profiles.Place{File: "r.csv", Line: 7, Column: 1}
	reading := func(illuminant, observer string, spectrum *profiles.Spectrum) profiles.ColourReading {
		return profiles.ColourReading{Part: "clamp", Lab: &lab, Spectrum: spectrum, At: at,
			Conditions: profiles.Conditions{Illuminant: illuminant, Observer: observer}}
	}
	labs, notes, err := colour.Readings([]profiles.ColourReading{reading("D65", "2", nil), reading("D65", "2", &white)})
	require.NoError(t, err)
	assert.Empty(t, notes)
	assert.Equal(t, []colour.Lab{{L: 50, A: 10, B: -20}, {L: 50, A: 10, B: -20}}, labs)

	labs, notes, err = colour.Readings([]profiles.ColourReading{reading("D50", "2", &white), reading("", "", nil)})
	require.NoError(t, err)
	assert.Less(t, colour.Difference(labs[0], titanium(t).Lab(100)), 0.1, "from its spectrum")
	require.Len(t, notes, 2)
	assert.Contains(t, notes[0], "1 of the readings do not say")
	assert.Contains(t, notes[1], "1 of the readings were taken for another light")

	_, _, err = colour.Readings([]profiles.ColourReading{reading("D65", "10", nil)})
	assert.ErrorContains(t, err, `r.csv:7:1: reading "clamp": it was taken for D65 and the 10 degree observer`)
	short := profiles.Spectrum{Nanometres: []float64{420, 440}, Reflectance: []float64{1, 1}}
	_, _, err = colour.Readings([]profiles.ColourReading{reading("D50", "2", &short)})
	assert.ErrorContains(t, err, "covers 420 to 440 nm; 400 to 680 nm is needed")
	short = profiles.Spectrum{Nanometres: []float64{400, 500, 700}, Reflectance: []float64{1, 1, 1}}
	_, _, err = colour.Readings([]profiles.ColourReading{reading("D50", "2", &short)})
	assert.ErrorContains(t, err, "nothing from 400 to 500 nm")
}

// The white of D65 reads L* 100, as XYZ and as a spectrum.
func TestTheWhiteIsWhite(t *testing.T) {
	one := profiles.Spectrum{}
	for nm := 380.0; nm <= 780; nm += 20 {
		one.Nanometres, one.Reflectance = append(one.Nanometres, nm), append(one.Reflectance, 1)
	}
	white := [3]float64{95.047, 100, 108.883} // CIE 15, from memory
	labs, _, err := colour.Readings([]profiles.ColourReading{{Spectrum: &one}, {XYZ: &white}})
	require.NoError(t, err)
	for _, lab := range labs {
		assert.InDelta(t, 100, lab.L, 1e-9)
		assert.Less(t, math.Hypot(lab.A, lab.B), 0.02)
	}
}
