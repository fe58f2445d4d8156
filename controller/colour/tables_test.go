package colour_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/profiles"
)

func observer() profiles.ColourMatching { return profiles.Observer() }

func light(t testing.TB, id string) profiles.Light {
	i, err := profiles.Illuminant(id)
	require.NoError(t, err)
	return i
}

func table(t testing.TB, id string) profiles.Table {
	constants, err := profiles.OpticalConstants(id)
	require.NoError(t, err)
	return constants
}

func surface(t testing.TB, film, metal, illuminant string, opts colour.Options) *colour.Surface {
	daylight := light(t, "D65")
	opts.Daylight = &daylight
	s, err := colour.NewSurface(table(t, film), table(t, metal), observer(), light(t, illuminant), opts)
	require.NoError(t, err)
	return s
}

// titanium is the default film on the default metal, in daylight.
func titanium(t testing.TB) *colour.Surface {
	return surface(t, "TiO2-Jolivet-amorphous", "Ti-Johnson", "D65", colour.Options{})
}

// reference is the scale that was fitted to the trade's sequence of colours.
var reference = colour.Scale{NMPerVolt: 1.97, Offset: 1.5}

// published reads a table of numbers, with a header line, of the published figures.
func published(t testing.TB, name string) [][]string {
	f, err := os.Open("../../testdata/published/" + name)
	require.NoError(t, err)
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.NoError(t, f.Close())
	return rows[1:]
}

func number(t testing.TB, text string) float64 {
	value, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return value
}
