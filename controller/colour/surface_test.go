package colour_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

func assertLab(t *testing.T, l, a, b float64, got colour.Lab, within float64, what string) {
	t.Helper()
	assert.InDelta(t, l, got.L, within, what)
	assert.InDelta(t, a, got.A, within, what)
	assert.InDelta(t, b, got.B, within, what)
}

func TestWhites(t *testing.T) {
	for id, want := range map[string]struct{ cieX, cieZ, x, z float64 }{
		// The CIE's values from memory, then the sums computed independently.
		"D65": {95.047, 108.883, 95.042967, 108.880055},
		"D50": {96.422, 82.521, 96.419686, 82.512259},
		"A":   {109.850, 35.585, 109.848993, 35.582474},
	} {
		white, err := colour.White(observer(), light(t, id), 5)
		require.NoError(t, err)
		assert.InDelta(t, want.cieX, white.X, 0.05, id)
		assert.InDelta(t, want.cieZ, white.Z, 0.05, id)
		assert.InDelta(t, want.x, white.X, 1e-6, id)
		assert.InDelta(t, 100, white.Y, 1e-12, id)
		assert.InDelta(t, want.z, white.Z, 1e-6, id)
	}
}

func TestIlluminantAIsItsFormula(t *testing.T) { // ISO/CIE 11664-2
	a := light(t, "A")
	for k, nm := range a.Nanometres {
		planck := func(nm float64) float64 { return math.Expm1(1.435e7 / (2848 * nm)) }
		want := 100 * math.Pow(560/nm, 5) * planck(560) / planck(nm)
		assert.InEpsilon(t, want, a.Power[k], 1e-5, "%v nm", nm)
	}
}

func TestBareMetals(t *testing.T) { // computed independently
	for _, row := range []struct {
		metal, illuminant string
		l, a, b           float64
	}{
		{"Ti-Johnson", "D50", 81.096152, 1.508659, 3.702979},
		{"Ti-Mash", "D65", 77.907156, -0.189781, 2.678798},
		{"Ti-Rakic-BB", "D65", 80.316870, 1.668510, -4.161091},
		{"Ta-Werner", "D65", 93.6, math.NaN(), math.NaN()}, // far too bright: tantalum is indicative only
	} {
		s := surface(t, "TiO2-Jolivet-amorphous", row.metal, row.illuminant, colour.Options{})
		if math.IsNaN(row.a) {
			assert.InDelta(t, row.l, s.Lab(0).L, 0.05, row.metal)
			continue
		}
		assertLab(t, row.l, row.a, row.b, s.Lab(0), 1e-6, row.metal)
	}
}

func TestFilmsOfOtherTables(t *testing.T) { // computed independently
	for _, row := range []struct {
		film, metal string
		d           unit.Nanometres
		l, a, b     float64
	}{
		{"TiO2-Siefke", "Ti-Johnson", 100, 82.760918, -9.823460, 28.323798},
		{"TiO2-Franta", "Ti-Rakic-BB", 100, 83.365555, -7.393735, 13.314617},
		{"TiO2-Sarkar", "Ti-Mash", 100, 79.712091, -8.358921, 6.363824},
		{"Nb2O5-Lemarchand", "Nb-Golovashkin-293K", 60, 63.113313, -5.567167, -28.661738},
		{"Nb2O5-Franta", "Nb-Weaver", 150, 45.781535, 63.409096, -40.586778},
		{"Ta2O5-Gao", "Ta-Werner", 60, 81.666160, 2.061545, -6.407555},
	} {
		s := surface(t, row.film, row.metal, "D65", colour.Options{})
		assertLab(t, row.l, row.a, row.b, s.Lab(row.d), 1e-6, row.film+" on "+row.metal)
	}
}

func TestTitaniumByVolts(t *testing.T) { // computed independently
	s := titanium(t)
	for _, row := range []struct {
		volts unit.Volts
		nm    float64
		xyz   colour.XYZ
		lab   colour.Lab
	}{
		{30, 60.6, colour.XYZ{X: 31.075886, Y: 35.207077, Z: 61.259446}, colour.Lab{L: 65.909570, A: -8.599244, B: -23.885918}},
		{50, 100, colour.XYZ{X: 54.954008, Y: 61.760473, Z: 39.381861}, colour.Lab{L: 82.785877, A: -9.255036, B: 27.821210}},
		{85, 168.95, colour.XYZ{X: 21.493213, Y: 28.146630, Z: 62.076180}, colour.Lab{L: 60.020978, A: -23.052862, B: -34.769191}},
	} {
		view := s.At(reference, row.volts)
		assert.InDelta(t, row.nm, float64(view.Thickness), 1e-9)
		assert.InDelta(t, row.xyz.X, view.XYZ.X, 1e-6)
		assert.InDelta(t, row.xyz.Y, view.XYZ.Y, 1e-6)
		assert.InDelta(t, row.xyz.Z, view.XYZ.Z, 1e-6)
		assertLab(t, row.lab.L, row.lab.A, row.lab.B, view.Lab, 1e-6, "")
	}
}

func TestOtherWaysOfLooking(t *testing.T) { // computed independently
	for name, row := range map[string]struct {
		illuminant string
		opts       colour.Options
		volts      unit.Volts
		l, a, b    float64
	}{
		"1 nm":       {"D65", colour.Options{StepNM: 1}, 50, 82.786013, -9.255671, 27.827453},
		"D50":        {"D50", colour.Options{}, 30, 65.283495, -13.033501, -24.624420},
		"A":          {"A", colour.Options{}, 30, 63.178315, -19.425410, -27.478240},
		"20 degrees": {"D65", colour.Options{AngleDegrees: 20}, 85, 58.462429, -17.079350, -38.002651},
	} {
		s := surface(t, "TiO2-Jolivet-amorphous", "Ti-Johnson", row.illuminant, row.opts)
		assertLab(t, row.l, row.a, row.b, s.Lab(reference.Thickness(row.volts)), 1e-6, name)
	}
}

func TestColourPerVoltAndTolerance(t *testing.T) { // computed independently
	s := titanium(t)
	for volts, want := range map[unit.Volts]float64{15: 11.3002, 30: 2.4606, 50: 2.1346, 85: 4.3022} {
		assert.InDelta(t, want, s.DE00PerVolt(reference, volts), 1e-4, "%v V", volts)
	}
	for volts, want := range map[unit.Volts]float64{15: 0.09, 25: 0.22, 30: 0.40, 35: 0.6, 50: 0.47, 60: 0.33, 75: 0.44, 85: 0.23} {
		got := s.Tolerance(reference, volts)
		assert.InDelta(t, want, float64(got.DE1), 0.015, "%v V, where half of the whole window is given", volts)
		assert.Greater(t, got.DE2, got.DE1)
	}
}

// The trade's sequence of colours on titanium, with the screen colours and names
// that go with it (names: common practice, no source; screen colours computed
// independently).
func TestSequenceOfTitanium(t *testing.T) {
	s := titanium(t)
	for _, row := range []struct {
		volts   unit.Volts
		hex     string
		inGamut bool
		name    string
		order   int
	}{
		{5, "#c3b5a0", true, "pale straw", 1},
		{15, "#90572c", true, "bronze", 1},
		{25, "#3178b7", true, "blue", 1},
		{30, "#6fa7ca", true, "light blue", 1},
		{35, "#9ec0d0", true, "pale blue", 1},
		{50, "#d1d29a", true, "pale yellow", 2},
		{60, "#deb742", true, "gold", 2},
		{75, "#af4cc9", true, "violet", 2},
		{85, "#009fcd", false, "cyan-blue", 2},
		{100, "#9ad377", true, "green", 2},
	} {
		view := s.At(reference, row.volts)
		assert.Equal(t, row.hex, view.Screen.Hex(), "%v V", row.volts)
		assert.Equal(t, row.inGamut, view.Screen.InGamut, "%v V", row.volts)
		assert.Equal(t, row.name, view.Name, "%v V", row.volts)
		assert.Equal(t, row.order, view.Order, "%v V", row.volts)
		hex, inGamut := s.SRGB(view.Thickness)
		assert.Equal(t, view.Screen.Hex(), hex)
		assert.Equal(t, view.Screen.InGamut, inGamut)
	}
	assert.Equal(t, "silver", s.At(reference, 0).Name)
	assert.Equal(t, "purple", s.At(reference, 18).Name)
	assert.Equal(t, "indigo", s.At(reference, 22).Name)
	assert.Equal(t, "silver", s.At(reference, 41).Name)
	assert.Equal(t, "rose", s.At(reference, 66).Name)
	assert.Equal(t, "purple", s.At(reference, 70).Name, "of the second order")
	assert.Equal(t, "teal", s.At(reference, 92).Name)
}

func TestTilt(t *testing.T) { // computed independently
	upright := titanium(t)
	for _, row := range []struct {
		angle float64
		off   map[unit.Nanometres]float64
	}{
		{8, map[unit.Nanometres]float64{60.6: 0.12, 100: 0.16, 169: 0.6}},
		{20, map[unit.Nanometres]float64{60.6: 0.7, 100: 1.0, 169: 3.8}},
		{45, map[unit.Nanometres]float64{60.6: 2.5, 100: 4.9, 169: 19}},
	} {
		tilted := surface(t, "TiO2-Jolivet-amorphous", "Ti-Johnson", "D65", colour.Options{AngleDegrees: row.angle})
		for d, want := range row.off {
			assert.InEpsilon(t, want, colour.Difference(upright.Lab(d), tilted.Lab(d)), 0.06, "%v degrees, %v nm", row.angle, d)
		}
	}
}

func TestScaleOfIndexActsAsThickness(t *testing.T) {
	scaled := surface(t, "TiO2-Jolivet-amorphous", "Ti-Johnson", "D65", colour.Options{IndexScale: 0.99})
	assert.Less(t, colour.Difference(titanium(t).Lab(99), scaled.Lab(100)), 1.0)
}

func TestSurfaceThatCannotBe(t *testing.T) {
	good, o, d65 := table(t, "Ti-Johnson"), observer(), light(t, "D65")
	falling := profiles.Table{ID: "falling", Nanometres: []float64{500, 400}, N: []float64{1, 1}, K: []float64{0, 0}}
	short := profiles.Light{ID: "D65", Nanometres: []float64{400, 700}, Power: []float64{1, 1}}
	for name, try := range map[string]func() error{
		"grazing": func() error {
			_, err := colour.NewSurface(good, good, o, d65, colour.Options{AngleDegrees: 90})
			return err
		},
		"step": func() error { _, err := colour.NewSurface(good, good, o, d65, colour.Options{StepNM: 7}); return err },
		"index": func() error {
			_, err := colour.NewSurface(good, good, o, d65, colour.Options{IndexScale: 3})
			return err
		},
		"falling":  func() error { _, err := colour.NewSurface(falling, good, o, d65, colour.Options{}); return err },
		"band":     func() error { _, err := colour.NewSurface(good, good, o, short, colour.Options{}); return err },
		"daylight": func() error { _, err := colour.NewSurface(good, good, o, light(t, "A"), colour.Options{}); return err },
	} {
		assert.ErrorContains(t, try(), "colour of", name)
	}
	_, err := colour.White(o, d65, 2)
	assert.ErrorContains(t, err, "it is 5 or 1")
}

func BenchmarkLab(b *testing.B) {
	for name, opts := range map[string]colour.Options{
		"5 nm": {}, "1 nm": {StepNM: 1}, "5 nm, 20 degrees": {AngleDegrees: 20},
	} {
		b.Run(name, func(b *testing.B) {
			s := surface(b, "TiO2-Jolivet-amorphous", "Ti-Johnson", "D65", opts)
			d := unit.Nanometres(20)
			b.ReportAllocs()
			for b.Loop() {
				s.Lab(d)
				if d += 0.37; d > 240 {
					d = 20
				}
			}
		})
	}
}

func BenchmarkView(b *testing.B) {
	s := titanium(b)
	b.ReportAllocs()
	for b.Loop() {
		s.At(reference, 70)
	}
}
