package report

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func chartDrawn(t *testing.T, format Format, count int) string {
	t.Helper()
	var buffer bytes.Buffer
	require.NoError(t, ColourChart(&buffer, format, exampleChart(count)))
	return buffer.String()
}

func TestChartNamesEachSwatch(t *testing.T) {
	svg := chartDrawn(t, SVG, 23)
	for _, words := range []string{"titanium grade 5", "70 V", "139.4 nm · ±0.45 V", "greenish yellow", "Book law", "2 degree observer"} {
		assert.Contains(t, svg, words)
	}
	assert.NotContains(t, svg, "one in")
}

func TestFineChartSaysWhatItLeavesOut(t *testing.T) {
	assert.Contains(t, chartDrawn(t, SVG, 1201), "the swatches one in 11")
}

func TestChartOfOneColour(t *testing.T) {
	assert.Contains(t, chartDrawn(t, SVG, 1), "0 V")
}

func TestChartRefuses(t *testing.T) {
	empty, nameless, falling := exampleChart(0), exampleChart(3), exampleChart(3)
	nameless.Provenance = " "
	falling.Swatches[2].Volts = falling.Swatches[1].Volts
	for want, chart := range map[error]Chart{ErrNoColours: empty, ErrNoProvenance: nameless, ErrNotRising: falling} {
		assert.ErrorIs(t, ColourChart(&bytes.Buffer{}, PNG, chart), want)
	}
	assert.ErrorIs(t, ColourChart(&bytes.Buffer{}, "gif", exampleChart(3)), ErrFormat)
}
