package report

import (
	"bytes"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
	"anodized/hal/unit"
)

func drawn(t *testing.T, format Format, l Load) string {
	t.Helper()
	var buffer bytes.Buffer
	require.NoError(t, LoadPlot(&buffer, format, l))
	return buffer.String()
}

func TestLoadPlotSaysWhatItShows(t *testing.T) {
	svg := drawn(t, SVG, exampleLoad(1))
	for _, words := range []string{
		"SIMULATED", "load 412", "volts, V", "mA/cm²", "film, nm", "time from the first energised second, min:s",
		"limit 5", "end 0.15", "held 5 s", "check", "ramp", "hold", "ladder of bath 1", "complete, by density", "mixed-rack",
	} {
		assert.Contains(t, svg, words)
	}
	real := exampleLoad(1)
	real.Simulated = false
	assert.NotContains(t, drawn(t, SVG, real), "SIMULATED")
}

func TestLoadPlotGivesTheSameBytes(t *testing.T) {
	for _, format := range []Format{SVG, PNG} {
		assert.Equal(t, drawn(t, format, exampleLoad(0.4)), drawn(t, format, exampleLoad(0.4)), format)
	}
}

func TestLoadPlotMarksRegulation(t *testing.T) {
	assert.Contains(t, drawn(t, SVG, exampleLoad(0.4)), "amperes set the pace (CC)")
	assert.NotContains(t, drawn(t, SVG, exampleLoad(2)), "amperes set the pace (CC)")
}

func TestLoadPlotRefuses(t *testing.T) {
	cases := map[string]struct {
		change func(*Load)
		want   error
	}{
		"no rows":         {func(l *Load) { l.Rows = nil }, ErrNoRows},
		"never energised": {func(l *Load) { l.Rows = []record.Row{{T: -3}} }, ErrNoRows},
		"no area":         {func(l *Load) { l.Plan.Area = 0 }, ErrNoArea},
		"area not known":  {func(l *Load) { l.Plan.Area = unit.SquareCentimetres(math.NaN()) }, ErrNoArea},
		"colours":         {func(l *Load) { l.Colours = make([]Stop, MostStops+1) }, ErrTooMany},
		"backwards":       {func(l *Load) { l.Rows[5].T = 90 }, ErrNotInRow},
	}
	for name, one := range cases {
		t.Run(name, func(t *testing.T) {
			load := exampleLoad(1)
			one.change(&load)
			assert.ErrorIs(t, LoadPlot(&bytes.Buffer{}, SVG, load), one.want)
		})
	}
	assert.ErrorIs(t, LoadPlot(&bytes.Buffer{}, "gif", exampleLoad(1)), ErrFormat)
}

func TestGapIsAGap(t *testing.T) {
	load := exampleLoad(1)
	for i := 300; i < 320; i++ {
		load.Rows[i].Volts, load.Rows[i].Amperes = unit.Volts(math.NaN()), unit.Amperes(math.NaN())
	}
	assert.Contains(t, drawn(t, SVG, load), "no readings, 2.1 s")
	assert.Len(t, pieces(voltsOf(load.Rows), 0.5), 2)
}

func TestTimedOutRunHasNoBracket(t *testing.T) {
	load := exampleLoad(1)
	load.Outcome = record.TimeRanOut
	assert.NotContains(t, drawn(t, SVG, load), "held 5 s")
}

func TestEveryFindingKeepsItsPlace(t *testing.T) {
	load := exampleLoad(1)
	for range 30 {
		load.Findings = append(load.Findings, load.Findings[1])
	}
	marks := newLoadView(load).marks()
	require.Len(t, marks, 32)
	for i, m := range marks {
		assert.LessOrEqual(t, m.disc, laneRight+1e-9)
		assert.GreaterOrEqual(t, m.disc, laneLeft-1e-9)
		if i > 0 {
			assert.GreaterOrEqual(t, m.disc-marks[i-1].disc, 2*discRadius, "discs %d and %d", i, i+1)
		}
	}
	assert.Contains(t, drawn(t, SVG, load), "more in the record")
}

func TestTitleIsEscaped(t *testing.T) {
	load := exampleLoad(1)
	load.Title = `<script>"&`
	svg := drawn(t, SVG, load)
	assert.NotContains(t, svg, "<script>")
	assert.Equal(t, 1, strings.Count(svg, "<title>"))
}

func TestFormatOf(t *testing.T) {
	for path, want := range map[string]Format{"a.svg": SVG, "b/c.PNG": PNG} {
		format, err := FormatOf(path)
		require.NoError(t, err)
		assert.Equal(t, want, format)
	}
	for _, path := range []string{"a.pdf", "a", "", "svg"} {
		_, err := FormatOf(path)
		assert.ErrorIs(t, err, ErrFormat, path)
	}
}

func TestPNGHasTheSizeOfTheSheet(t *testing.T) {
	image, err := png.Decode(strings.NewReader(drawn(t, PNG, exampleLoad(1))))
	require.NoError(t, err)
	assert.Equal(t, sheetWidth*sheetDPI/72, image.Bounds().Dx())
	assert.Equal(t, sheetHeight*sheetDPI/72, image.Bounds().Dy())
}

// TestPicturesAreWritten writes the pictures where PICTURES says, for a person to look at.
func TestPicturesAreWritten(t *testing.T) {
	folder := os.Getenv("PICTURES")
	if folder == "" {
		folder = t.TempDir()
	}
	for name, content := range map[string]string{
		"load.png": drawn(t, PNG, exampleLoad(1)), "load.svg": drawn(t, SVG, exampleLoad(1)),
		"limited.png": drawn(t, PNG, exampleLoad(0.4)), "chart.png": chartDrawn(t, PNG, 23), "chart-fine.svg": chartDrawn(t, SVG, 1201),
		"chart.svg": chartDrawn(t, SVG, 23),
	} {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(content), 0o600))
	}
}
