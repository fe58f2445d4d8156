package colour_test

import (
	"math"
	"testing"

	colorful "github.com/lucasb-eyer/go-colorful"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// An independent general-purpose library, which scales XYZ and Lab by a hundredth,
// gives the same colours along the whole path of the film.
func TestIndependentLab(t *testing.T) {
	s := titanium(t)
	white := [3]float64{s.White().X / 100, 1, s.White().Z / 100}
	rapid.Check(t, func(t *rapid.T) {
		d := unit.Nanometres(rapid.Float64Range(0, 300).Draw(t, "film"))
		xyz, lab := s.XYZ(d), s.Lab(d)
		l, a, b := colorful.XyzToLabWhiteRef(xyz.X/100, xyz.Y/100, xyz.Z/100, white)
		require.InDelta(t, 100*l, lab.L, 0.01)
		require.InDelta(t, 100*a, lab.A, 0.01)
		require.InDelta(t, 100*b, lab.B, 0.01)
	})
}

// The hues keep a degree from opposite, where rounding decides which way round is
// shorter and the library rounds on its way through linear light.
func TestIndependentDifference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0, 2*math.Pi).Draw(t, "hue")
		turn := rapid.Float64Range(-179, 179).Draw(t, "turn") * math.Pi / 180
		one, two := anyOfHue(t, "one", h), anyOfHue(t, "two", h+turn)
		require.InDelta(t, 100*of(one).DistanceCIEDE2000(of(two)), colour.Difference(one, two), 0.01)
	})
}

func anyOfHue(t *rapid.T, name string, h float64) colour.Lab {
	c := rapid.Float64Range(0.1, 120).Draw(t, name+" chroma")
	sin, cos := math.Sincos(h)
	return colour.Lab{L: rapid.Float64Range(0, 100).Draw(t, name+" L"), A: c * cos, B: c * sin}
}

func of(c colour.Lab) colorful.Color { return colorful.Lab(c.L/100, c.A/100, c.B/100) }

func TestIndependentScreen(t *testing.T) {
	s := titanium(t)
	rapid.Check(t, func(t *rapid.T) {
		d := unit.Nanometres(rapid.Float64Range(0, 160).Draw(t, "film"))
		xyz, screen := s.XYZ(d), s.Screen(d)
		red, green, blue := colorful.Xyz(xyz.X/100, xyz.Y/100, xyz.Z/100).Clamped().RGB255()
		require.InDelta(t, red, screen.Red, 1, "it uses a matrix of more digits")
		require.InDelta(t, green, screen.Green, 1)
		require.InDelta(t, blue, screen.Blue, 1)
	})
}
