package bands_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/bands"
	"anodized/controller/colour"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"
)

// chip is a chip of eight bands: typical middles and widths of its data sheet, from memory.
var chip = []bands.Band{{Middle: 415, Width: 26}, {Middle: 445, Width: 30}, {Middle: 480, Width: 36}, {Middle: 515, Width: 39},
	{Middle: 555, Width: 39}, {Middle: 590, Width: 40}, {Middle: 630, Width: 50}, {Middle: 680, Width: 52}}

func shop(t testing.TB) *bands.Matrix {
	t.Helper()
	m, err := bands.ForShop(chip)
	require.NoError(t, err)
	return m
}

func surface(t testing.TB, film, metal string) *colour.Surface {
	oxide, err := profiles.OpticalConstants(film)
	require.NoError(t, err)
	under, err := profiles.OpticalConstants(metal)
	require.NoError(t, err)
	daylight, err := profiles.Illuminant("D65")
	require.NoError(t, err)
	s, err := colour.NewSurface(oxide, under, profiles.Observer(), daylight, colour.Options{})
	require.NoError(t, err)
	return s
}

// The stated error holds for films of tables that are in no training set, with noise.
func TestStatedErrorHoldsForOtherTables(t *testing.T) {
	m := shop(t)
	t.Logf("stated, each table left out: %+v", m.Error)
	random := rand.New(rand.NewPCG(1, 2))
	var off []float64
	for _, pair := range [][2]string{{"TiO2-Jolivet-anatase", "Ti-Werner"}, {"TiO2-Siefke", "Ti-Rakic-BB"}, {"Nb2O5-Horcholle-400", "Nb-Weaver"}} {
		s := surface(t, pair[0], pair[1])
		for d := unit.Nanometres(20); d <= 220; d += 5 {
			nm, reflectance := s.Spectrum(d)
			reading := bands.Through(chip, nm, reflectance)
			for i := range reading {
				reading[i] += bands.Noise * random.NormFloat64()
			}
			off = append(off, colour.Difference(m.Lab(reading), s.Lab(d)))
		}
	}
	slices.Sort(off)
	median, p95 := off[len(off)/2], off[len(off)*95/100]
	t.Logf("three other tables with noise: median %.2f, 95th percentile %.2f, worst %.2f", median, p95, off[len(off)-1])
	assert.Less(t, median, 2*m.Error.Median)
	assert.Less(t, p95, 2*m.Error.P95)
}

// What the stated error has not in it: bands that are not where the data sheet says.
func TestBandsThatAreElsewhere(t *testing.T) {
	m, s := shop(t), surface(t, "TiO2-Siefke", "Ti-Mash")
	shifted := slices.Clone(chip)
	for i := range shifted {
		shifted[i].Middle += 5
	}
	var off []float64
	for d := unit.Nanometres(20); d <= 220; d += 2 {
		nm, reflectance := s.Spectrum(d)
		off = append(off, colour.Difference(m.Lab(bands.Through(shifted, nm, reflectance)), s.Lab(d)))
	}
	slices.Sort(off)
	t.Logf("all bands 5 nm up: median %.2f, 95th percentile %.2f", off[len(off)/2], off[len(off)*95/100])
	assert.Greater(t, off[len(off)*95/100], 2*m.Error.P95, "else the warning in the package's comment is idle")
}

// White is white, and black black: a mean of reflectances cannot be anything else.
func TestGreysStayGrey(t *testing.T) {
	m := shop(t)
	for _, share := range []float64{0.05, 0.2, 0.5, 1} {
		reading := slices.Repeat([]float64{share}, len(chip))
		lab := m.Lab(reading)
		assert.Less(t, math.Hypot(lab.A, lab.B), 1.0, "%g", share)
		assert.InDelta(t, 100*share, m.XYZ(reading).Y, 1.0)
	}
}

// A matrix that made the colours is found again, but for the ridge.
func TestFitFindsAMatrix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(0, 50)
		var rows [3][4]float64
		for i := range rows {
			for k := range rows[i] {
				rows[i][k] = number.Draw(t, "row")
			}
		}
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		var samples []bands.Sample
		for n := range 60 {
			s := bands.Sample{Table: string(rune('a' + n%3)), Reading: make([]float64, 4)}
			var xyz [3]float64
			for k := range s.Reading {
				s.Reading[k] = random.Float64()
				for i := range xyz {
					xyz[i] += rows[i][k] * s.Reading[k]
				}
			}
			s.XYZ = colour.XYZ{X: xyz[0], Y: xyz[1], Z: xyz[2]}
			samples = append(samples, s)
		}
		m, err := bands.Fit(chip[:4], samples, colour.XYZ{X: 95.047, Y: 100, Z: 108.883}, 1e-6)
		require.NoError(t, err)
		require.Equal(t, 3, m.Error.Tables)
		require.Less(t, m.Error.Worst, 0.01, "of the noise of a millionth")
		got := m.XYZ([]float64{1, 0, 0, 0})
		require.InDelta(t, rows[0][0], got.X, 1e-6)
		require.InDelta(t, rows[2][0], got.Z, 1e-6)
	})
}

func TestFitsThatAreRefused(t *testing.T) {
	white := colour.XYZ{X: 95, Y: 100, Z: 108}
	_, err := bands.Fit(chip[:2], nil, white, 0.01)
	require.ErrorContains(t, err, "3 bands")
	_, err = bands.Fit(chip, []bands.Sample{{Table: "one", Reading: []float64{1}}}, white, 0.01)
	require.ErrorContains(t, err, "has 1 bands")
	_, err = bands.Fit(chip[:3], []bands.Sample{{Table: "one", Reading: []float64{1, 2, 3}}}, white, 0.01)
	require.ErrorContains(t, err, "too few")
}

func BenchmarkForShop(b *testing.B) {
	for b.Loop() {
		if _, err := bands.ForShop(chip); err != nil {
			b.Fatal(err)
		}
	}
}
