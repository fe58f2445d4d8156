package colour_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
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
	got := strings.Join([]string{filmsOfTitanium(t), silicaByHue(t), weightsOf20nm(t), otherTables(t)}, "\n")
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

// otherTables tells how far the colours of a film hang on whose tables are taken: for
// each film of the usual ones, the nearest colour that any film within a fifth of it has
// by others. That is what a ladder leaves, since it fits the thickness.
func otherTables(t *testing.T) string {
	var text strings.Builder
	fmt.Fprintln(&text, "other tables beside the usual ones, films of 20 to 240 nm, the thickness fitted: CIEDE2000 median and most")
	for _, row := range [][4]string{
		{"TiO2-Jolivet-amorphous", "Ti-Johnson", "TiO2-Siefke", "Ti-Johnson"},
		{"TiO2-Jolivet-amorphous", "Ti-Johnson", "TiO2-Franta", "Ti-Rakic-BB"},
		{"TiO2-Jolivet-amorphous", "Ti-Johnson", "TiO2-Sarkar", "Ti-Mash"},
		{"Nb2O5-Lemarchand", "Nb-Golovashkin-293K", "Nb2O5-Franta", "Nb-Golovashkin-293K"},
		{"Nb2O5-Lemarchand", "Nb-Golovashkin-293K", "Nb2O5-Franta", "Nb-Weaver"},
	} {
		usual := surface(t, row[0], row[1], "D65", colour.Options{})
		other := surface(t, row[2], row[3], "D65", colour.Options{})
		var off []float64
		for d := 20.0; d <= 240; d += 2 {
			off = append(off, nearestFilm(usual.Lab(unit.Nanometres(d)), other, d))
		}
		slices.Sort(off)
		fmt.Fprintf(&text, "%s on %s: %.1f, %.1f\n", row[2], row[3], off[len(off)/2], off[len(off)-1])
	}
	return text.String()
}

func nearestFilm(want colour.Lab, s *colour.Surface, d float64) float64 {
	least := math.Inf(1)
	for at := 0.8 * d; at <= 1.2*d; at += 0.25 {
		least = min(least, colour.Difference(want, s.Lab(unit.Nanometres(at))))
	}
	return least
}
