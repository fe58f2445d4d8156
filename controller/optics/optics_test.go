package optics_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/optics"
	"anodized/hal/unit"
	"anodized/profiles"
)

func filmOn(film, metal complex128, d unit.Nanometres) optics.Stack {
	return optics.Stack{Ambient: optics.Air, Layers: []optics.Layer{{Index: film, Thickness: d}}, Substrate: metal}
}

func TestBareMetalIsFresnel(t *testing.T) {
	n, k := 2.7, 3.6
	want := ((n-1)*(n-1) + k*k) / ((n+1)*(n+1) + k*k)
	require.InDelta(t, 0.5947467167, want, 1e-10)
	metal := optics.Index(n, k)
	bare := optics.Stack{Ambient: optics.Air, Substrate: metal}
	coat := optics.NewCoat(optics.Air, optics.Index(2.3, 0), metal, 550, 0)
	assert.InDelta(t, want, bare.Reflect(550, 0, optics.S).R, 1e-12)
	assert.InDelta(t, want, bare.Reflect(550, 0, optics.P).R, 1e-12)
	assert.InDelta(t, want, coat.Reflectance(0), 1e-12, "no film is bare metal")
}

func TestQuarterWave(t *testing.T) { // textbook: ((n_s - n²)/(n_s + n²))²
	want := math.Pow((1.5-2.3*2.3)/(1.5+2.3*2.3), 2)
	require.InDelta(t, 0.3115579742, want, 1e-10)
	d := unit.Nanometres(550 / (4 * 2.3))
	coat := optics.NewCoat(optics.Air, optics.Index(2.3, 0), optics.Index(1.5, 0), 550, 0)
	assert.InDelta(t, want, coat.Reflectance(d), 1e-12)
	assert.InDelta(t, want, filmOn(optics.Index(2.3, 0), optics.Index(1.5, 0), d).Unpolarised(550, 0), 1e-12)
}

func TestFilmOnMetal(t *testing.T) { // computed independently
	metal := optics.Index(2.7, 3.6)
	degrees := math.Pi / 180
	for name, row := range map[string]struct {
		film  complex128
		angle float64
		s, p  [3]float64
	}{
		"normal": {optics.Index(2.3, 0), 0,
			[3]float64{0.5790532021, 0.6334840687, 0.5759606153}, [3]float64{0.5790532021, 0.6334840687, 0.5759606153}},
		"30 degrees": {optics.Index(2.3, 0), 30 * degrees,
			[3]float64{0.6399188733, 0.6701133251, 0.6010209418}, [3]float64{0.5498881788, 0.5864111164, 0.5206640420}},
		"lossy, 60 degrees": {optics.Index(2.3, 0.02), 60 * degrees,
			[3]float64{0.7684271304, 0.7583559579, 0.6738460847}, [3]float64{0.3506994448, 0.3537993806, 0.3154472617}},
	} {
		for i, wavelength := range []unit.Nanometres{450, 550, 650} {
			coat := optics.NewCoat(optics.Air, row.film, metal, wavelength, row.angle)
			s, p := coat.Polarised(100)
			assert.InDelta(t, row.s[i], s, 1e-9, "%s, s, %v nm", name, wavelength)
			assert.InDelta(t, row.p[i], p, 1e-9, "%s, p, %v nm", name, wavelength)
			stack := filmOn(row.film, metal, 100)
			assert.InDelta(t, row.s[i], stack.Reflect(wavelength, row.angle, optics.S).R, 1e-9)
			assert.InDelta(t, row.p[i], stack.Reflect(wavelength, row.angle, optics.P).R, 1e-9)
		}
	}
}

func TestBrewsterAndTotalReflection(t *testing.T) { // textbook
	glass := optics.Stack{Ambient: optics.Air, Substrate: optics.Index(1.5, 0)}
	assert.InDelta(t, 0, glass.Reflect(550, math.Atan(1.5), optics.P).R, 1e-15)
	inside := optics.Stack{Ambient: optics.Index(1.5, 0), Substrate: optics.Air}
	beyond := math.Asin(1/1.5) + 0.1
	assert.InDelta(t, 1, inside.Reflect(550, beyond, optics.S).R, 1e-12)
	assert.InDelta(t, 1, inside.Reflect(550, beyond, optics.P).R, 1e-12)
	assert.InDelta(t, 0, inside.Reflect(550, beyond, optics.P).T, 1e-12)
}

func TestPorousFilm(t *testing.T) {
	oxide := optics.Index(2.4, 0.01)
	assert.InDelta(t, 2.4, real(optics.Porous(oxide, 0)), 1e-12, "no voids is the oxide")
	assert.InDelta(t, -0.01, imag(optics.Porous(oxide, 0)), 1e-12)
	assert.InDelta(t, 1, real(optics.Porous(oxide, 1)), 1e-12, "all voids is air")
	assert.Less(t, real(optics.Porous(oxide, 0.2)), 2.4)
}

func BenchmarkReflectance(b *testing.B) {
	for name, film := range map[string]complex128{"lossless": optics.Index(2.3, 0), "lossy": optics.Index(2.3, 0.02)} {
		b.Run(name, func(b *testing.B) {
			coat := optics.NewCoat(optics.Air, film, optics.Index(2.7, 3.6), 550, 0)
			b.ReportAllocs()
			for b.Loop() {
				coat.Reflectance(100)
			}
		})
	}
}

func TestIndexBetweenAndBeyondTheRows(t *testing.T) {
	table := profiles.Table{Nanometres: []float64{400, 500, 700}, N: []float64{2.6, 2.4, 2.2}, K: []float64{0.2, 0, 0}}
	for at, want := range map[unit.Nanometres]complex128{
		300: optics.Index(2.6, 0.2), 400: optics.Index(2.6, 0.2), 450: optics.Index(2.5, 0.1),
		500: optics.Index(2.4, 0), 600: optics.Index(2.3, 0), 900: optics.Index(2.2, 0),
	} {
		got := optics.IndexAt(table, at)
		assert.InDelta(t, real(want), real(got), 1e-15, "%v nm", at)
		assert.InDelta(t, imag(want), imag(got), 1e-15, "%v nm", at)
	}
}

// A new order begins where the reflectance of a lossless film is most.
func TestOrderBeginsAtTheBrightestFilm(t *testing.T) {
	coat := optics.NewCoat(optics.Air, optics.Index(2.45, 0), optics.Index(2.54, 3.43), 550, 0)
	orders := []int{}
	for d := unit.Nanometres(1); d < 350; d++ {
		if coat.Order(d) != coat.Order(d-1) {
			orders = append(orders, coat.Order(d))
			brightest := max(coat.Reflectance(d), coat.Reflectance(d-1))
			assert.Greater(t, brightest, coat.Reflectance(d-3))
			assert.Greater(t, brightest, coat.Reflectance(d+3))
		}
	}
	assert.Equal(t, 1, coat.Order(0))
	assert.Equal(t, []int{2, 3, 4}, orders)
}
