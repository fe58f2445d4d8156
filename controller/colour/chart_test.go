package colour_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/colour"
	"anodized/controller/film"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"
)

func fullChart(t testing.TB) *colour.Chart {
	c, err := titanium(t).Chart(reference, 0, 120, 0.1)
	require.NoError(t, err)
	require.Equal(t, 1201, c.Len())
	return c
}

func TestBestFindsTheVoltsOfAColour(t *testing.T) {
	s, c := titanium(t), fullChart(t)
	rapid.Check(t, func(t *rapid.T) {
		volts := unit.Volts(rapid.Float64Range(1, 119).Draw(t, "volts"))
		best := c.Best(s.Lab(reference.Thickness(volts)), 1)
		require.Len(t, best, 1)
		require.InDelta(t, 0, best[0].DE00, 1e-3)
		require.InDelta(t, float64(volts), float64(best[0].Volts), 1e-3)
		require.Equal(t, s.Order(reference.Thickness(volts)), best[0].Order)
	})
}

func TestBestIsSortedAndOnTheChart(t *testing.T) {
	c := fullChart(t)
	rapid.Check(t, func(t *rapid.T) {
		want := colour.Lab{
			L: rapid.Float64Range(0, 100).Draw(t, "L"),
			A: rapid.Float64Range(-100, 100).Draw(t, "a"), B: rapid.Float64Range(-100, 100).Draw(t, "b"),
		}
		best := c.Best(want, 100)
		require.NotEmpty(t, best)
		nearest := 1e9
		for i := range c.Len() {
			nearest = min(nearest, colour.Difference(want, c.Lab(i)))
		}
		require.LessOrEqual(t, best[0].DE00, nearest, "never worse than a row")
		for i, candidate := range best {
			require.InDelta(t, candidate.DE00, colour.Difference(want, candidate.Lab), 1e-12)
			require.GreaterOrEqual(t, candidate.Volts, unit.Volts(0))
			require.LessOrEqual(t, candidate.Volts, unit.Volts(120))
			if i > 0 {
				require.GreaterOrEqual(t, candidate.DE00, best[i-1].DE00)
			}
		}
	})
}

func TestLookAlikesOfAnotherOrder(t *testing.T) { // computed independently
	s := titanium(t)
	assert.InDelta(t, 1.4, colour.Difference(s.Lab(106), s.Lab(214)), 0.1)
	assert.InDelta(t, 2.3, colour.Difference(s.Lab(53.5), s.Lab(164)), 0.1)
	best := fullChart(t).Best(s.Lab(106), 2)
	require.Len(t, best, 2)
	assert.Equal(t, []int{2, 3}, []int{best[0].Order, best[1].Order})
	assert.Less(t, best[1].DE00, 2.0)
}

func TestFilmOfAMeasuredColour(t *testing.T) { // computed independently: a clamp run at 49 V
	d, residual := titanium(t).ThicknessOf(colour.Lab{L: 83.15, A: -9.03, B: 23.72}, reference.Thickness(49))
	assert.InDelta(t, 98.18, float64(d), 0.005)
	assert.InDelta(t, 0.24, residual, 0.005)
	s := titanium(t)
	for film, sigma := range map[unit.Nanometres]float64{60: 0.15, 98: 0.14, 149: 0.13} {
		assert.InDelta(t, sigma, 0.3/s.Slope(film), 0.006, "error of the film at 0.3 an axis, %v nm", film)
	}
}

func TestThicknessOfIsInverse(t *testing.T) {
	s := titanium(t)
	rapid.Check(t, func(t *rapid.T) {
		d := unit.Nanometres(rapid.Float64Range(16, 240).Draw(t, "film"))
		off := unit.Nanometres(rapid.Float64Range(-10, 10).Draw(t, "expected off by"))
		found, residual := s.ThicknessOf(s.Lab(d), d+off)
		require.InDelta(t, float64(d), float64(found), 1e-3)
		require.InDelta(t, 0, residual, 1e-3)
	})
}

func TestFlattestAndSteepestFilms(t *testing.T) { // computed independently, by nanometre
	s := titanium(t)
	perNM := func(d unit.Nanometres) float64 { return colour.Difference(s.Lab(d-0.5), s.Lab(d+0.5)) }
	for d, want := range map[unit.Nanometres]float64{40: 2.8, 74: 0.81, 114: 0.85, 148: 1.13, 179: 1.75, 206: 0.83, 33: 7.6, 129: 4.1, 161: 3.1} {
		assert.InEpsilon(t, want, perNM(d), 0.05, "%v nm", d)
	}
}

func TestScaleFollowsTheEnd(t *testing.T) {
	law := film.New(6e-14, 4.5e-6, film.ChargeFactor(79.866, 4, 3.90), 1)
	book := profiles.Calibration{NMPerVolt: 1.97, Offset: 1.5, EndCurrentDensity: 0.5}
	assert.Equal(t, reference, colour.ScaleFor(book, law, 0.5), "its own end")
	less := colour.ScaleFor(book, law, 0.15)
	assert.InEpsilon(t, law.NMPerVolt(0.15)/law.NMPerVolt(0.5), less.NMPerVolt/1.97, 1e-12)
	assert.InDelta(t, 2.080, less.NMPerVolt, 1e-3)
	assert.Equal(t, unit.Nanometres(1.5), less.Offset)
	// The end is part of the colour: at 50 V a film ended at 0.15 is CIEDE2000 5.7
	// from one ended at 0.05 mA/cm² (computed independently).
	s := titanium(t)
	assert.InDelta(t, 5.7, colour.Difference(s.Lab(law.Thickness(50, 0.15)), s.Lab(law.Thickness(50, 0.05))), 0.05)
}

func TestScaleIsInvertible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := colour.Scale{
			NMPerVolt: rapid.Float64Range(1.2, 3.2).Draw(t, "nm per volt"),
			Offset:    unit.Nanometres(rapid.Float64Range(0, 10).Draw(t, "offset")),
		}
		v := rapid.Float64Range(0, 120).Draw(t, "volts")
		require.InDelta(t, v, float64(scale.Volts(scale.Thickness(unit.Volts(v)))), 1e-12)
	})
}

func TestChartThatCannotBe(t *testing.T) {
	s := titanium(t)
	for name, row := range map[string][3]unit.Volts{
		"no step": {0, 100, 0}, "falling": {50, 40, 1}, "below zero": {-1, 10, 1}, "too fine": {0, 110, 1e-6},
	} {
		_, err := s.Chart(reference, row[0], row[1], row[2])
		assert.ErrorContains(t, err, "chart of colours", name)
	}
	c, err := s.Chart(reference, 30, 30, 1)
	require.NoError(t, err)
	assert.Equal(t, 1, c.Len())
	assert.Equal(t, s.At(reference, 30), c.View(0))
	assert.Equal(t, unit.Volts(30), c.Best(s.Lab(0), 3)[0].Volts, "one row, one answer")
}

func BenchmarkBest(b *testing.B) {
	c := fullChart(b)
	for name, want := range map[string]colour.Lab{
		"reachable": titanium(b).Lab(140), "grey": {L: 50}, "blue": {L: 50, A: -1, B: -40},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.Best(want, 5)
			}
		})
	}
}

// A chart turns each phase from row to row; its colours are those of the plain way.
func TestChartIsThePlainWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := colour.Scale{
			NMPerVolt: rapid.Float64Range(1.2, 3.2).Draw(t, "nm per volt"),
			Offset:    unit.Nanometres(rapid.Float64Range(-10, 20).Draw(t, "offset")),
		}
		s := anySurface(t)
		from := unit.Volts(rapid.Float64Range(0, 20).Draw(t, "from"))
		step := unit.Volts(rapid.Float64Range(0.05, 2).Draw(t, "step"))
		c, err := s.Chart(scale, from, from+step*unit.Volts(rapid.IntRange(0, 600).Draw(t, "rows")), step)
		require.NoError(t, err)
		for row := range c.Len() {
			want, got := s.Lab(scale.Thickness(c.Volts(row))), c.Lab(row)
			require.InDelta(t, want.L, got.L, 1e-9, "row %d", row)
			require.InDelta(t, want.A, got.A, 1e-9, "row %d", row)
			require.InDelta(t, want.B, got.B, 1e-9, "row %d", row)
		}
	})
}

// anySurface is a film of any metal of ours, lossy films among them, at some angle.
func anySurface(t *rapid.T) *colour.Surface {
	pair := rapid.SampledFrom([][2]string{
		{"TiO2-Jolivet-amorphous", "Ti-Johnson"}, {"TiO2-Siefke", "Ti-Mash"}, {"TiO2-Franta", "Ti-Rakic-BB"},
		{"Nb2O5-Lemarchand", "Nb-Golovashkin-293K"}, {"Nb2O5-Franta", "Nb-Weaver"}, {"Ta2O5-Gao", "Ta-Werner"},
	}).Draw(t, "film and metal")
	angle := rapid.SampledFrom([]float64{0, 0, 8, 45, 80}).Draw(t, "angle")
	constants := func(id string) profiles.Table {
		found, err := profiles.OpticalConstants(id)
		require.NoError(t, err)
		return found
	}
	d65, err := profiles.Illuminant("D65")
	require.NoError(t, err)
	s, err := colour.NewSurface(constants(pair[0]), constants(pair[1]), observer(), d65, colour.Options{AngleDegrees: angle})
	require.NoError(t, err)
	return s
}

func BenchmarkChart(b *testing.B) {
	s := titanium(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Chart(reference, 0, 120, 0.1); err != nil {
			b.Fatal(err)
		}
	}
}
