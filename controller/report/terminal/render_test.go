package terminal

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got+"\n"), 0o600))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got+"\n")
}

func TestEachStateWithoutColour(t *testing.T) {
	for name, view := range exampleStates() {
		t.Run(name, func(t *testing.T) { golden(t, name+".golden", Render(view, 80, 24, Mono)) })
	}
}

func TestHoldingInTrueColour(t *testing.T) {
	golden(t, "holding-true-colour.golden", Render(exampleView(130), 80, 24, TrueColour))
}

func TestNarrowWithoutPlot(t *testing.T) {
	golden(t, "narrow.golden", Render(exampleView(130), 60, 24, Mono))
}

var escape = regexp.MustCompile("\x1b\\[[0-9;]*m")

func TestStateLineSaysEnergised(t *testing.T) {
	states := exampleStates()
	line := func(name string) string { return strings.Split(Render(states[name], 80, 24, Mono), "\n")[1] }
	assert.Contains(t, line("holding"), ";7m", "inverse while energised")
	assert.NotContains(t, line("complete"), ";7m", "plain when off")
	unknown := escape.ReplaceAllString(line("unknown"), "")
	assert.True(t, strings.HasPrefix(unknown, " ? HOLDING"), unknown)
	assert.True(t, strings.HasSuffix(unknown, "?"), unknown)
}

func TestNoColourHasNoColour(t *testing.T) {
	assert.NotContains(t, Render(exampleView(130), 80, 24, Mono), "38;")
	assert.Contains(t, Render(exampleView(130), 80, 24, Colour256), "38;5;")
	assert.Contains(t, Render(exampleView(130), 80, 24, TrueColour), "38;2;180;79;196")
}

func TestModeOf(t *testing.T) {
	cases := []struct {
		environment map[string]string
		want        ColourMode
	}{
		{map[string]string{}, Colour256},
		{map[string]string{"COLORTERM": "truecolor"}, TrueColour},
		{map[string]string{"COLORTERM": "24bit", "NO_COLOR": "1"}, Mono},
		{map[string]string{"TERM": "dumb"}, Mono},
		{map[string]string{"NO_COLOR": ""}, Colour256},
	}
	for _, one := range cases {
		assert.Equal(t, one.want, ModeOf(func(key string) string { return one.environment[key] }), one.environment)
	}
}

func TestPaletteIsNearest(t *testing.T) {
	for want, c := range map[int]RGB{16: {0, 0, 0}, 231: {255, 255, 255}, 196: {255, 0, 0}, 244: {128, 128, 128}, 67: {95, 135, 175}} {
		assert.Equal(t, want, c.palette(), c)
	}
}

func TestForeignTextCannotMoveTheCursor(t *testing.T) {
	view := exampleView(130)
	view.Load, view.Trip = "rack\x1b[2J\nname\x07", "a\rb\u202ec"
	picture := escape.ReplaceAllString(Render(view, 80, 24, TrueColour), "")
	for _, letter := range []string{"\x1b", "\x07", "\r", "\u202e"} {
		assert.NotContains(t, picture, letter)
	}
	assert.Len(t, strings.Split(picture, "\n"), 24)
}

// Whatever the numbers and the size, the picture fits its frame.
func TestPictureFitsItsFrame(t *testing.T) {
	states := exampleStates()
	rapid.Check(t, func(t *rapid.T) {
		view := states[rapid.SampledFrom([]string{"holding", "ramping", "tripped", "idle", "unknown"}).Draw(t, "state")]
		view.Volts = unit.Volts(rapid.Float64().Draw(t, "volts"))
		view.Left = unit.Seconds(rapid.Float64Range(-1e6, 1e6).Draw(t, "left"))
		view.EndTime = unit.Seconds(rapid.Float64Range(-10, 1e5).Draw(t, "end"))
		view.EndAt = unit.CurrentDensity(rapid.Float64Range(-1, 100).Draw(t, "criterion"))
		view.Load = rapid.String().Draw(t, "load")
		width, height := rapid.IntRange(0, 200).Draw(t, "width"), rapid.IntRange(0, 60).Draw(t, "height")
		mode := ColourMode(rapid.IntRange(0, 2).Draw(t, "mode"))
		lines := strings.Split(escape.ReplaceAllString(Render(view, width, height, mode), ""), "\n")
		if len(lines) > max(1, height) || width >= 80 && height >= 18 && len(lines) != height {
			t.Fatalf("%d lines for a height of %d", len(lines), height)
		}
		for _, line := range lines {
			if utf8.RuneCountInString(line) > max(1, width) {
				t.Fatalf("%q is wider than %d", line, width)
			}
		}
	})
}

func TestScreenRedrawsInPlace(t *testing.T) {
	var screen Screen
	assert.Equal(t, "\ra\x1b[K\n\rb\x1b[K\x1b[J", screen.Frame("a\nb"))
	assert.Equal(t, "\x1b[1A\rc\x1b[K\x1b[J", screen.Frame("c"), "up to the first line of the last frame")
	assert.Equal(t, "\rd\x1b[K\x1b[J", screen.Frame("d"))
}
