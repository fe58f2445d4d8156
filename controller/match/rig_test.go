package match_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/controller/match"
	"anodized/hal/unit"
	"anodized/profiles"
)

func surface(t testing.TB, film, substrate string) *colour.Surface {
	oxide, err := profiles.OpticalConstants(film)
	require.NoError(t, err)
	metal, err := profiles.OpticalConstants(substrate)
	require.NoError(t, err)
	daylight, err := profiles.Illuminant("D65")
	require.NoError(t, err)
	s, err := colour.NewSurface(oxide, metal, profiles.Observer(), daylight, colour.Options{})
	require.NoError(t, err)
	return s
}

// book is the basis of the book calibration of titanium.
func book(t testing.TB) match.Basis {
	c, err := profiles.OpenCalibration("titanium-grade-5-book", nil)
	require.NoError(t, err)
	return match.Basis{Surface: surface(t, c.Film, c.Substrate), Scale: colour.Scale{NMPerVolt: c.NMPerVolt, Offset: c.Offset},
		SlopeSD: c.NMPerVoltSD, OffsetSD: c.OffsetSD}
}

// bench is a simulated station: films as they are, readings with noise.
type bench struct {
	truth  *colour.Surface
	scale  colour.Scale
	noise  float64
	random *rand.Rand
}

func (b *bench) film(v unit.Volts) unit.Nanometres { return b.scale.Thickness(v) }

func (b *bench) read(d unit.Nanometres) colour.Lab {
	c := b.truth.Lab(d)
	return colour.Lab{L: c.L + b.noise*b.random.NormFloat64(), A: c.A + b.noise*b.random.NormFloat64(), B: c.B + b.noise*b.random.NormFloat64()}
}
