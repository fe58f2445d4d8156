package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// bath is a bath that only tests know: SIMULATED.
type bath struct {
	surface *colour.Surface
	slope   float64
	offset  float64
	noise   float64 // CIELAB an axis
}

func table(t testing.TB, id string) profiles.Table {
	constants, err := profiles.OpticalConstants(id)
	require.NoError(t, err)
	return constants
}

func daylight(t testing.TB) profiles.Light {
	light, err := profiles.Illuminant("D65")
	require.NoError(t, err)
	return light
}

func surfaceOf(t testing.TB, film, metal string, scale float64) *colour.Surface {
	light := daylight(t)
	s, err := colour.NewSurface(table(t, film), table(t, metal), profiles.Observer(), light, colour.Options{IndexScale: scale, Daylight: &light})
	require.NoError(t, err)
	return s
}

// The default tables.
const (
	jolivet = "TiO2-Jolivet-amorphous"
	johnson = "Ti-Johnson"
)

func titanium(t testing.TB) *colour.Surface { return surfaceOf(t, jolivet, johnson, 1) }

// ladder is one of titanium, with the default tables and without readings.
func ladder(t testing.TB) Ladder {
	metal, err := profiles.OpenMetal("titanium-grade-5", nil)
	require.NoError(t, err)
	return Ladder{
		Film: table(t, jolivet), Substrate: table(t, johnson), Observer: profiles.Observer(), Light: daylight(t),
		Law: film.FromGrowth(metal.Growth), End: 0.15, Range: RangeOf(metal, 1.97),
	}
}

// read is the colours of coupons at some volts.
func (b bath) read(random *rand.Rand, volts ...float64) []Reading {
	readings := make([]Reading, len(volts))
	for i, v := range volts {
		readings[i] = Reading{Volts: unit.Volts(v), Lab: b.lab(random, v)}
	}
	return readings
}

func (b bath) lab(random *rand.Rand, volts float64) colour.Lab {
	lab := b.surface.Lab(unit.Nanometres(math.Max(0, b.offset+b.slope*volts)))
	if b.noise > 0 {
		lab.L += b.noise * random.NormFloat64()
		lab.A += b.noise * random.NormFloat64()
		lab.B += b.noise * random.NormFloat64()
	}
	return lab
}

func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 5)) }

// randomBath is one whose constants are up to a fifth from the usual.
func randomBath(random *rand.Rand, s *colour.Surface) bath {
	return bath{s, 1.97 * (0.8 + 0.4*random.Float64()), -2 + 6*random.Float64(), 0.5}
}

func evenly(from, to float64, count int) []float64 {
	volts := make([]float64, count)
	for i := range volts {
		volts[i] = from + (to-from)*float64(i)/float64(count-1)
	}
	return volts
}
