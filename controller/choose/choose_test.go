package choose_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/choose"
	"anodized/controller/colour"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"
)

// titanium is the default film, by the law that was fitted to the trade's colours.
func titanium(t testing.TB) *choose.Eye {
	return eye(t, "TiO2-Jolivet-amorphous", "Ti-Johnson", colour.Scale{NMPerVolt: 1.97, Offset: 1.5})
}

func niobium(t testing.TB) *choose.Eye {
	return eye(t, "Nb2O5-Lemarchand", "Nb-Golovashkin-293K", colour.Scale{NMPerVolt: 2.5})
}

func eye(t testing.TB, film, metal string, scale colour.Scale) *choose.Eye {
	t.Helper()
	constants := func(id string) profiles.Table {
		found, err := profiles.OpticalConstants(id)
		require.NoError(t, err)
		return found
	}
	var lamps []profiles.Light
	for _, id := range []string{"D65", "D50", "A"} {
		lamp, err := profiles.Illuminant(id)
		require.NoError(t, err)
		lamps = append(lamps, lamp)
	}
	e, err := choose.New(choose.Request{
		Film: constants(film), Substrate: constants(metal), Observer: profiles.Observer(), Light: lamps[0],
		Options: colour.Options{Daylight: &lamps[0]}, Scale: scale, Lamps: lamps, Tilts: []float64{0, 20, 45}, Highest: 120,
	})
	require.NoError(t, err)
	return e
}

func TestChoiceOfAFilm(t *testing.T) {
	e := titanium(t)
	rapid.Check(t, func(t *rapid.T) {
		volts := unit.Volts(rapid.Float64Range(2, 118).Draw(t, "volts"))
		c := e.Choose(e.Surface().Lab(1.5 + 1.97*unit.Nanometres(volts)))
		require.True(t, c.Reachable)
		require.Empty(t, c.Misses)
		require.InDelta(t, float64(volts), float64(c.Candidates[0].Volts), 1e-2)
		require.NotNil(t, c.Flattest, "the film itself is near itself")
		require.LessOrEqual(t, c.Flattest.PerVolt, c.Candidates[0].PerVolt+0.1, "the most forgiving is no worse, but for the step of the chart")
		for _, one := range c.Candidates {
			assertHonest(t, e, one)
		}
	})
}

// assertHonest says that what a candidate tells is so.
func assertHonest(t *rapid.T, e *choose.Eye, c choose.Candidate) {
	require.Equal(t, c.Lab.LCh().Name(), c.Name)
	for _, other := range c.Alike {
		require.Greater(t, max(other.Volts-c.Volts, c.Volts-other.Volts), unit.Volts(10))
		require.LessOrEqual(t, other.DE00, 6.0)
		require.InDelta(t, other.DE00, colour.Difference(c.Lab, other.Lab), 1e-12)
	}
	require.Len(t, c.Lamps, 3)
	require.Zero(t, c.Lamps[0].DE00, "the light that was asked for")
	require.Len(t, c.Tilts, 2, "0 degrees is no tilt")
	for _, s := range append(append([]choose.Shift{}, c.Lamps...), c.Tilts...) {
		require.InDelta(t, colour.Difference(c.Lab, s.Lab), s.DE00, 1e-12)
		require.LessOrEqual(t, max(s.HueDegrees, -s.HueDegrees), 180.0)
		if s.Renamed {
			require.NotEqual(t, c.Name, s.Name)
			require.GreaterOrEqual(t, s.DE00, 3.0)
		}
	}
}

// Every colour gets an answer: films, or why there is none.
func TestChoiceOfAnyColour(t *testing.T) {
	e := niobium(t)
	rapid.Check(t, func(t *rapid.T) {
		want := colour.Lab{L: rapid.Float64Range(0, 100).Draw(t, "L"),
			A: rapid.Float64Range(-128, 128).Draw(t, "a"), B: rapid.Float64Range(-128, 128).Draw(t, "b")}
		c := e.Choose(want)
		require.NotEmpty(t, c.Candidates)
		require.Equal(t, c.Candidates[0].DE00 <= choose.Reachable, c.Reachable)
		require.Equal(t, c.Reachable, len(c.Misses) == 0)
		for _, miss := range c.Misses {
			require.NotContains(t, miss.Message, "NaN")
			require.NotContains(t, miss.Message, "Inf")
		}
		if c.Flattest != nil {
			require.LessOrEqual(t, c.Flattest.DE00, 10.0)
		}
	})
}

// Orders that look alike, in nm and CIEDE2000 (computed independently).
func TestLookAlikes(t *testing.T) {
	e := titanium(t)
	for film, want := range map[unit.Nanometres][2]float64{106: {214, 1.4}, 53.5: {164, 2.3}} {
		c := e.Choose(e.Surface().Lab(film)).Candidates[0]
		require.NotEmpty(t, c.Alike, "%v nm", film)
		assert.InDelta(t, want[0], float64(c.Alike[0].Thickness), 0.8)
		assert.InDelta(t, want[1], c.Alike[0].DE00, 0.1)
		assert.NotEqual(t, c.Order, c.Alike[0].Order)
	}
	assert.Empty(t, e.Choose(e.Surface().Lab(149)).Candidates[0].Alike, "the violet of 75 V has no double")
}

// A film under other lamps and tilted (computed independently: 60.6 nm is 30 V of the
// reference law; its hue is 250, 242 and 235 degrees under D65, D50 and A).
func TestLampsAndTilts(t *testing.T) {
	e := titanium(t)
	c := e.Choose(e.Surface().Lab(60.6)).Candidates[0]
	require.InDelta(t, 60.6, float64(c.Thickness), 1e-3)
	assert.Equal(t, "D50", c.Lamps[1].Illuminant)
	assert.InDelta(t, 65.283495, c.Lamps[1].Lab.L, 1e-3)
	assert.InDelta(t, -27.478240, c.Lamps[2].Lab.B, 1e-3)
	assert.InDelta(t, 242-250, c.Lamps[1].HueDegrees, 1)
	assert.InDelta(t, 235-250, c.Lamps[2].HueDegrees, 1)
	assert.InDelta(t, 0.7, c.Tilts[0].DE00, 0.05)
	assert.InDelta(t, 2.5, c.Tilts[1].DE00, 0.15)
}

// A purple that is pink under a lamp is told: of niobium, in the third order.
func TestPurpleThatTurnsPink(t *testing.T) {
	c, word, err := niobium(t).ChooseWord(" Purple")
	require.NoError(t, err)
	assert.Equal(t, "purple", word.Name)
	told := false
	for _, one := range c.Candidates {
		assert.Equal(t, "purple", one.Name)
		for _, s := range append(one.Lamps, one.Tilts...) {
			told = told || s.Renamed && s.Name == "pink"
		}
	}
	assert.True(t, told)
}

// What film colours cannot be: true red and black (common practice, no source), white,
// and whatever a screen alone shows.
func TestWhatCannotBe(t *testing.T) {
	for word, code := range map[string]string{"red": choose.TooVivid, "black": choose.TooDark, "white": choose.TooLight,
		"lime": choose.TooLight, "navy": choose.TooDark, "grey": choose.TooMuted, "turquoise": choose.NotTogether} {
		for metal, e := range map[string]*choose.Eye{"titanium": titanium(t), "niobium": niobium(t)} {
			c, said, err := e.ChooseWord(word)
			require.NoError(t, err)
			assert.False(t, c.Reachable, "%s on %s", word, metal)
			assert.NotEmpty(t, said.Says)
			require.NotEmpty(t, c.Misses, "%s on %s", word, metal)
			assert.Equal(t, code, c.Misses[0].Code, "%s on %s: %s", word, metal, c.Misses[0].Message)
			assert.Greater(t, c.Candidates[0].DE00, choose.Reachable)
		}
	}
}

func TestWordsOfTheTrade(t *testing.T) {
	e := titanium(t)
	for _, name := range e.Names() {
		c, word, err := e.ChooseWord(name)
		require.NoError(t, err, name)
		assert.True(t, c.Reachable, name)
		assert.Empty(t, word.Hex, "%s is a name of films, not a screen colour", name)
		for i, one := range c.Candidates {
			assert.Equal(t, name, one.Name)
			assert.GreaterOrEqual(t, one.DE00, c.Candidates[max(0, i-1)].DE00)
		}
	}
	_, _, err := e.ChooseWord("octarine")
	assert.ErrorContains(t, err, "purple")
	_, word, err := e.ChooseWord("red")
	require.NoError(t, err)
	assert.Equal(t, "#ff0000", word.Hex)
}

// Films at which the colour moves least by the nanometre (computed independently).
func TestFlattest(t *testing.T) {
	e := titanium(t)
	for near, want := range map[unit.Nanometres]float64{76: 74, 112: 114, 146: 148} {
		c := e.Choose(e.Surface().Lab(near))
		require.NotNil(t, c.Flattest)
		assert.InDelta(t, want, float64(c.Flattest.Thickness), 1.5, "from %v nm", near)
		assert.GreaterOrEqual(t, c.Flattest.Tolerance.DE1, c.Candidates[0].Tolerance.DE1-0.02)
	}
}

func BenchmarkChoose(b *testing.B) {
	e := titanium(b)
	want := e.Surface().Lab(140)
	b.ReportAllocs()
	for b.Loop() {
		e.Choose(want)
	}
}
