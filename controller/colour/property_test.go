package colour_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/colour"
	"anodized/controller/optics"
	"anodized/hal/unit"
)

func anyLab(t *rapid.T, name string) colour.Lab {
	return colour.Lab{
		L: rapid.Float64Range(0, 100).Draw(t, name+" L"),
		A: rapid.Float64Range(-128, 128).Draw(t, name+" a"),
		B: rapid.Float64Range(-128, 128).Draw(t, name+" b"),
	}
}

func TestDifferenceIsSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one, two := anyLab(t, "one"), anyLab(t, "two")
		require.InDelta(t, colour.Difference(one, two), colour.Difference(two, one), 1e-12)
		require.Zero(t, colour.Difference(one, one))
		require.GreaterOrEqual(t, colour.Difference(one, two), 0.0)
		require.False(t, math.IsNaN(colour.Difference(one, two)))
	})
}

func TestLabAndXYZAreInverse(t *testing.T) {
	white := colour.XYZ{X: 95.047, Y: 100, Z: 108.883}
	rapid.Check(t, func(t *rapid.T) {
		lab := anyLab(t, "colour")
		back := lab.XYZ(white).Lab(white)
		require.InDelta(t, lab.L, back.L, 1e-9)
		require.InDelta(t, lab.A, back.A, 1e-9)
		require.InDelta(t, lab.B, back.B, 1e-9)
	})
}

func TestScreenColoursComeBack(t *testing.T) {
	s := titanium(t)
	rapid.Check(t, func(t *rapid.T) {
		hex := fmt.Sprintf("#%06x", rapid.IntRange(0, 0xffffff).Draw(t, "colour"))
		screen, err := colour.ParseHex(hex)
		require.NoError(t, err)
		back := screen.XYZ().Screen()
		require.Equal(t, hex, back.Hex())
		again := s.OnScreen(s.FromScreen(screen).XYZ(s.White()))
		require.Equal(t, hex, again.Hex(), "the same in daylight")
	})
}

func TestHexThatIsNone(t *testing.T) {
	for _, text := range []string{"", "#", "3178b7", "#3178b", "#3178b77", "#3178bg", "#+178b7", "blue"} {
		_, err := colour.ParseHex(text)
		require.ErrorContains(t, err, "hexadecimal", text)
	}
}

func FuzzParseHex(f *testing.F) {
	f.Add("#3178b7")
	f.Add("#FFFFFF")
	f.Add("#12345_")
	f.Fuzz(func(t *testing.T, text string) {
		screen, err := colour.ParseHex(text)
		if err == nil {
			require.Len(t, text, 7)
			again, err := colour.ParseHex(screen.Hex())
			require.NoError(t, err)
			require.Equal(t, screen, again)
		}
	})
}

func TestAdaptationKeepsWhite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		any := func(name string) colour.XYZ {
			return colour.XYZ{X: rapid.Float64Range(80, 115).Draw(t, name+" X"), Y: 100, Z: rapid.Float64Range(30, 120).Draw(t, name+" Z")}
		}
		from, to := any("from"), any("to")
		got := from.Adapted(from, to)
		require.InDelta(t, to.X, got.X, 1e-9)
		require.InDelta(t, to.Y, got.Y, 1e-9)
		require.InDelta(t, to.Z, got.Z, 1e-9)
		back := got.Adapted(to, from)
		require.InDelta(t, from.X, back.X, 1e-9)
	})
}

// Every colour has a name, and the regions leave no hue out.
func TestEveryColourHasAName(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := anyLab(t, "colour").LCh().Name()
		require.NotEmpty(t, name)
		require.NotEqual(t, "dark", name)
	})
	for tenth := range 3600 {
		for _, c := range []float64{9, 17, 24, 40, 90} {
			for _, l := range []float64{1, 41, 59, 64, 99} {
				require.NotEqual(t, "dark", colour.LCh{L: l, C: c, H: float64(tenth) / 10}.Name())
			}
		}
	}
}

func TestHueIsOnTheCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lch := anyLab(t, "colour").LCh()
		require.GreaterOrEqual(t, lch.H, 0.0)
		require.Less(t, lch.H, 360.0)
	})
	require.Zero(t, colour.Lab{L: 50, A: 1, B: -1e-30}.LCh().H)
}

// The surface's sums are those of the general stack, wavelength by wavelength.
func TestSurfaceIsTheSumOfItsSpectrum(t *testing.T) {
	o, d65 := observer(), light(t, "D65")
	oxide, metal := table(t, "Nb2O5-Franta"), table(t, "Nb-Weaver")
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(0, 80).Draw(t, "angle")
		d := unit.Nanometres(rapid.Float64Range(0, 300).Draw(t, "film"))
		s, err := colour.NewSurface(oxide, metal, o, d65, colour.Options{AngleDegrees: angle})
		require.NoError(t, err)
		var want colour.XYZ
		var whole float64
		for k, nm := range d65.Nanometres {
			at := unit.Nanometres(nm)
			stack := optics.Stack{Ambient: optics.Air, Substrate: optics.IndexAt(metal, at),
				Layers: []optics.Layer{{Index: optics.IndexAt(oxide, at), Thickness: d}}}
			r := d65.Power[k] * stack.Unpolarised(at, angle*math.Pi/180)
			row := int(nm - o.Nanometres[0])
			want.X += r * o.X[row]
			want.Y += r * o.Y[row]
			want.Z += r * o.Z[row]
			whole += d65.Power[k] * o.Y[row]
		}
		got := s.XYZ(d)
		require.InDelta(t, 100*want.X/whole, got.X, 1e-10)
		require.InDelta(t, 100*want.Y/whole, got.Y, 1e-10)
		require.InDelta(t, 100*want.Z/whole, got.Z, 1e-10)
	})
}

func TestOrderNeverFalls(t *testing.T) {
	s := titanium(t)
	require.Equal(t, 1, s.Order(0))
	half := unit.Nanometres(550 / (2 * real(optics.IndexAt(table(t, "TiO2-Jolivet-amorphous"), 550))))
	rapid.Check(t, func(t *rapid.T) {
		d := unit.Nanometres(rapid.Float64Range(0, 400).Draw(t, "film"))
		more := unit.Nanometres(rapid.Float64Range(0, 50).Draw(t, "more"))
		require.LessOrEqual(t, s.Order(d), s.Order(d+more))
		require.InDelta(t, s.Order(d)+1, s.Order(d+half), 1e-9, "half a wave more is one order more")
	})
}

func TestToleranceIsWhatItSays(t *testing.T) {
	s := titanium(t)
	rapid.Check(t, func(t *rapid.T) {
		v := unit.Volts(rapid.Float64Range(2, 115).Draw(t, "volts"))
		at, tolerance := s.Lab(reference.Thickness(v)), s.Tolerance(reference, v)
		worst := func(w unit.Volts) float64 {
			return max(colour.Difference(at, s.Lab(reference.Thickness(v-w))), colour.Difference(at, s.Lab(reference.Thickness(v+w))))
		}
		require.InDelta(t, 1, worst(tolerance.DE1), 1e-3)
		require.InDelta(t, 2, worst(tolerance.DE2), 1e-3)
		require.Less(t, worst(tolerance.DE1/2), 1.0)
	})
}
