package optics_test

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/optics"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
)

type scene struct {
	film, metal complex128
	wavelength  unit.Nanometres
	angle       float64
	thickness   unit.Nanometres
}

func anyScene(t *rapid.T) scene {
	draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	return scene{
		film:       optics.Index(draw("n film", 1.3, 3.2), draw("k film", 0, 0.3)),
		metal:      optics.Index(draw("n metal", 0.1, 4), draw("k metal", 0, 6)),
		wavelength: unit.Nanometres(draw("wavelength", 360, 830)),
		angle:      draw("angle", 0, 1.5),
		thickness:  unit.Nanometres(draw("thickness", 0, 300)),
	}
}

// The fast form, the characteristic matrix and the Airy sum written out are three
// routes to one reflectance.
func TestRoutesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyScene(t)
		coat := optics.NewCoat(optics.Air, c.film, c.metal, c.wavelength, c.angle)
		stack := filmOn(c.film, c.metal, c.thickness)
		s, p := coat.Polarised(c.thickness)
		require.InDelta(t, stack.Reflect(c.wavelength, c.angle, optics.S).R, s, 1e-12)
		require.InDelta(t, stack.Reflect(c.wavelength, c.angle, optics.P).R, p, 1e-12)
		require.InDelta(t, c.airy(1), s, 1e-12)
		require.InDelta(t, c.airy(-1), p, 1e-12)
		require.InDelta(t, (s+p)/2, coat.Reflectance(c.thickness), 1e-15)
		require.InDelta(t, (s+p)/2, stack.Unpolarised(c.wavelength, c.angle), 1e-12)
	})
}

// airy sums the echoes with Fresnel's coefficients in their textbook form; power is
// +1 for s and -1 for p.
func (c scene) airy(power int) float64 {
	index := []complex128{1, c.film, c.metal}
	cos := make([]complex128, 3)
	for i, n := range index {
		s := complex(math.Sin(c.angle), 0) / n
		cos[i] = cmplx.Sqrt(1 - s*s)
		if imag(n*cos[i]) > 0 {
			cos[i] = -cos[i]
		}
	}
	fresnel := func(a, b int) complex128 {
		if power > 0 {
			return (index[a]*cos[a] - index[b]*cos[b]) / (index[a]*cos[a] + index[b]*cos[b])
		}
		return (index[a]*cos[b] - index[b]*cos[a]) / (index[a]*cos[b] + index[b]*cos[a])
	}
	delta := complex(2*math.Pi*float64(c.thickness)/float64(c.wavelength), 0) * index[1] * cos[1]
	z := cmplx.Exp(-2i * delta)
	r := (fresnel(0, 1) + fresnel(1, 2)*z) / (1 + fresnel(0, 1)*fresnel(1, 2)*z)
	return real(r)*real(r) + imag(r)*imag(r)
}

func TestLightIsNeitherMadeNorLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyScene(t)
		for _, p := range []optics.Polarisation{optics.S, optics.P} {
			lossy := filmOn(c.film, c.metal, c.thickness).Reflect(c.wavelength, c.angle, p)
			require.GreaterOrEqual(t, lossy.R, 0.0)
			require.LessOrEqual(t, lossy.R+lossy.T, 1+1e-12)
			clear := filmOn(optics.Index(real(c.film), 0), c.metal, c.thickness).Reflect(c.wavelength, c.angle, p)
			require.InDelta(t, 1, clear.R+clear.T, 1e-12, "a lossless film: what does not come back goes into the metal")
		}
	})
}

func TestLayersOfOneMediumAreOneLayer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyScene(t)
		whole := filmOn(c.film, c.metal, c.thickness)
		cut := whole
		share := unit.Nanometres(rapid.Float64Range(0, 1).Draw(t, "share"))
		cut.Layers = []optics.Layer{
			{Index: c.film, Thickness: c.thickness * share}, {Index: c.film, Thickness: c.thickness * (1 - share)},
		}
		for _, p := range []optics.Polarisation{optics.S, optics.P} {
			require.InDelta(t, whole.Reflect(c.wavelength, c.angle, p).R, cut.Reflect(c.wavelength, c.angle, p).R, 1e-10)
		}
	})
}
