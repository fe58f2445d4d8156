package optics_test

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/optics"
	"anodized/hal/unit"
)

// example reads one worked example; the sources are named beside the file.
func example(t *testing.T, name string, into any) {
	content, err := os.ReadFile("../../testdata/published/thin_film_worked_examples.json")
	require.NoError(t, err)
	var file struct {
		Examples []json.RawMessage `json:"examples"`
	}
	require.NoError(t, json.Unmarshal(content, &file))
	for _, raw := range file.Examples {
		var head struct{ Name string }
		require.NoError(t, json.Unmarshal(raw, &head))
		if head.Name == name {
			require.NoError(t, json.Unmarshal(raw, into))
			return
		}
	}
	require.Fail(t, "no such example", name)
}

func TestPublishedAbsorbingStack(t *testing.T) { // S. J. Byrnes, tmm, with N = n + i k
	var e struct {
		Index      [4][2]float64 `json:"n"`
		D          [4]*float64   `json:"d"`
		Wavelength float64       `json:"lambda_"`
		Angle      float64       `json:"theta_rad"`
		Rs, Ts     float64
		Rp, Tp     float64
		Amplitude  [2]float64 `json:"rs"`
		Psi        float64    `json:"psi_rad"`
		Delta      float64    `json:"Delta_rad"`
	}
	example(t, "absorbing four-layer stack, oblique", &e)
	at := func(i int) complex128 { return optics.Index(e.Index[i][0], e.Index[i][1]) }
	stack := optics.Stack{Ambient: at(0), Substrate: at(3), Layers: []optics.Layer{
		{Index: at(1), Thickness: unit.Nanometres(*e.D[1])}, {Index: at(2), Thickness: unit.Nanometres(*e.D[2])},
	}}
	s := stack.Reflect(unit.Nanometres(e.Wavelength), e.Angle, optics.S)
	p := stack.Reflect(unit.Nanometres(e.Wavelength), e.Angle, optics.P)
	assert.InDelta(t, e.Rs, s.R, 1e-13)
	assert.InDelta(t, e.Ts, s.T, 1e-13)
	assert.InDelta(t, e.Rp, p.R, 1e-13)
	assert.InDelta(t, e.Tp, p.T, 1e-13)
	assert.InDelta(t, e.Amplitude[0], real(s.Amplitude), 1e-13)
	assert.InDelta(t, -e.Amplitude[1], imag(s.Amplitude), 1e-13, "the other time factor: conjugate")
	ratio := cmplx.Conj(p.Amplitude / s.Amplitude)
	assert.InDelta(t, e.Psi, math.Atan(cmplx.Abs(ratio)), 1e-13)
	assert.InDelta(t, e.Delta, cmplx.Phase(ratio), 1e-13)
}

// The examples of OpenStax, University Physics vol. 3, at normal incidence. Each
// printed thickness is where the reflectance is least or most, to its rounding.
func TestPublishedThicknesses(t *testing.T) {
	soap, water, plastic := optics.Index(1.333, 0), optics.Index(1.333, 0), optics.Index(1.6, 0)
	magnesiumFluoride, glass, oil := optics.Index(1.38, 0), optics.Index(1.52, 0), optics.Index(1.40, 0)
	var quarter struct {
		D float64 `json:"quarter_wave_nm"`
	}
	example(t, "antireflection MgF2 on glass", &quarter)
	assertExtreme(t, -1, magnesiumFluoride, glass, 500, quarter.D, 0.05)
	var bright, dark struct {
		D []float64 `json:"thickness_nm"`
	}
	example(t, "soap film in air, constructive", &bright)
	example(t, "soap film in air, destructive", &dark)
	for _, d := range bright.D {
		assertExtreme(t, 1, soap, optics.Air, 650, d, 0.6)
	}
	for _, d := range dark.D[1:] {
		assertExtreme(t, -1, soap, optics.Air, 650, d, 0.6)
	}
	var second struct {
		D float64 `json:"thickness_nm"`
	}
	example(t, "MgF2, second thinnest coating non-reflective at 700 nm", &second)
	assertExtreme(t, -1, magnesiumFluoride, glass, 700, second.D, 0.5)
	example(t, "oil (1.40) on water, 470 nm, minimum thickness", &second)
	assertExtreme(t, 1, oil, water, 470, second.D, 0.05)
	var colour struct {
		Wavelength float64 `json:"most_reflected_nm"`
	}
	example(t, "soapy water 233 nm on plastic of higher index", &colour)
	assertExtreme(t, 1, optics.Index(1.33, 0), plastic, unit.Nanometres(colour.Wavelength), 233, 0.5)
}

// assertExtreme says that the reflectance of a film is most (sign +1) or least (-1)
// within a distance of a thickness.
func assertExtreme(t *testing.T, sign float64, film, below complex128, wavelength unit.Nanometres, d, within float64) {
	t.Helper()
	coat := optics.NewCoat(optics.Air, film, below, wavelength, 0)
	slope := func(d float64) float64 {
		const step = 1e-4
		return sign * (coat.Reflectance(unit.Nanometres(d+step)) - coat.Reflectance(unit.Nanometres(d-step)))
	}
	assert.Positive(t, slope(d-within), "%v nm at %v nm", d, wavelength)
	assert.Negative(t, slope(d+within), "%v nm at %v nm", d, wavelength)
}
