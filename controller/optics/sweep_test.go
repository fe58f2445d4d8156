package optics_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/optics"
	"anodized/hal/unit"
)

// A sweep is the plain reflectance, film by film: far beyond the films between two
// fresh phases, for lossy films too, at any angle, up or down.
func TestSweepIsThePlainReflectance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scenes := rapid.SliceOfN(rapid.Custom(anyScene), 1, 5).Draw(t, "scenes")
		coats := make([]optics.Coat, len(scenes))
		for i, c := range scenes {
			coats[i] = optics.NewCoat(optics.Air, c.film, c.metal, c.wavelength, c.angle)
		}
		films := rapid.IntRange(1, 300).Draw(t, "films")
		from := unit.Nanometres(rapid.Float64Range(0, 300).Draw(t, "from"))
		step := (unit.Nanometres(rapid.Float64Range(0, 600).Draw(t, "to")) - from) / unit.Nanometres(films)
		sweep, r := optics.NewSweep(coats, from, step), make([]float64, len(coats))
		for row := range films {
			sweep.Next(r)
			for i := range coats {
				require.InDelta(t, coats[i].Reflectance(from+unit.Nanometres(row)*step), r[i], 1e-11)
			}
		}
	})
}

func BenchmarkSweep(b *testing.B) {
	for name, film := range map[string]complex128{"lossless": optics.Index(2.3, 0), "lossy": optics.Index(2.3, 0.02)} {
		b.Run(name, func(b *testing.B) {
			coats := make([]optics.Coat, 81)
			for i := range coats {
				coats[i] = optics.NewCoat(optics.Air, film, optics.Index(2.7, 3.6), unit.Nanometres(380+5*i), 0)
			}
			sweep, r := optics.NewSweep(coats, 0, 0.2), make([]float64, len(coats))
			b.ReportAllocs()
			for b.Loop() {
				sweep.Next(r)
			}
		})
	}
}
