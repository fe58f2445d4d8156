package colour_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

var update = flag.Bool("update", false, "write the residuals anew")

// huesSeen are the hues, in degrees, that the words for the films on Ti-6Al-4V stand
// for, wide: they are words.
var huesSeen = map[string][2]float64{"blue": {240, 300}, "green": {95, 160}, "pink and yellow": {20, 60}}

// Films on Ti-6Al-4V of known thickness: the hue that was seen is that of the film as
// measured.
func TestPublishedHuesOfTitanium(t *testing.T) {
	s := titanium(t)
	for _, row := range published(t, "ti6al4v_films_by_volts.csv") {
		h := s.Lab(unit.Nanometres(number(t, row[1]))).LCh().H
		assert.True(t, within(h, huesSeen[row[3]]), "%s nm was %s, here the hue is %.0f degrees", row[1], row[3], h)
	}
	// J. Korean Inst. Surf. Eng. 35 (5) 273 (abstract): 30 V is blue, light, reproducible.
	assert.True(t, within(s.Lab(reference.Thickness(30)).LCh().H, [2]float64{230, 280}))
}

// TestResiduals states how far the book law and the default tables are from what others
// published. Nothing is tuned to any of them: the figures are kept as they came out.
func TestResiduals(t *testing.T) {
	const path = "testdata/residuals.txt"
	got := strings.Join([]string{filmsOfTitanium(t), silicaByHue(t), weightsOf20nm(t)}, "\n")
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o600))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

func filmsOfTitanium(t *testing.T) string {
	s := titanium(t)
	var text strings.Builder
	fmt.Fprintln(&text, "Ti-6Al-4V, International Journal of Biomaterials 2015, 395657, table 1, beside the book law")
	for _, row := range published(t, "ti6al4v_films_by_volts.csv") {
		d, law := unit.Nanometres(number(t, row[1])), reference.Thickness(unit.Volts(number(t, row[0])))
		c := s.Lab(d).LCh()
		fmt.Fprintf(&text, "%s V: %s nm (%s), book %.1f nm, %+.1f nm (%+.0f %%); seen %s, computed for %s nm %s, hue %.0f\n",
			row[0], row[1], row[2], float64(law), float64(law-d), 100*float64((law-d)/d), row[3], row[1], c.Name(), c.H)
	}
	return text.String()
}

// silicaByHue gives, for every row of the chart whose word stands for a hue, how far
// the nearest film of that hue is.
func silicaByHue(t *testing.T) string {
	s, text, exact, rows := silica(t), strings.Builder{}, 0, 0
	fmt.Fprintln(&text, "SiO2 on Si by words, Pliskin and Conrad 1964 as carried by two universities: nm to the nearest film of the hue")
	for _, row := range published(t, "sio2_on_si_colour_chart.csv") {
		hues, known := hueNames[lastWord(row[1])]
		if !known {
			continue
		}
		off := nearestHue(s, number(t, row[0]), hues)
		if rows++; off == 0 {
			exact++
			continue
		}
		fmt.Fprintf(&text, "%s nm, %s: %s\n", row[0], row[1], distance(off))
	}
	fmt.Fprintf(&text, "%d of %d rows have the hue at the very film\n", exact, rows)
	return text.String()
}

const farthestHue = 60 // nm to look

func nearestHue(s *colour.Surface, d float64, hues [2]float64) float64 {
	for off := 0.0; off <= farthestHue; off++ {
		for _, at := range []float64{d + off, d - off} {
			if at >= 0 && within(s.Lab(unit.Nanometres(at)).LCh().H, hues) {
				return at - d
			}
		}
	}
	return math.Inf(1)
}

func distance(off float64) string {
	if math.IsInf(off, 1) {
		return fmt.Sprintf("none within %d nm", farthestHue)
	}
	return fmt.Sprintf("%+.0f nm", off)
}

func weightsOf20nm(t *testing.T) string {
	worst := func(from, to unit.Nanometres) (off float64) {
		for d := from; d <= to; d += 5 {
			off = max(off, offByWeights(t, d))
		}
		return off
	}
	return fmt.Sprintf("ASTM E308 weights of 20 nm beside our sums of 5 nm, films on Ti: CIEDE2000 at most %.2f to 100 nm, %.2f from there to 240 nm\n",
		worst(0, 100), worst(100, 240))
}
