package report

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
)

func printed(t *testing.T, format Format, c Chart) string {
	t.Helper()
	var buffer bytes.Buffer
	require.NoError(t, PrintedChart(&buffer, format, c))
	return buffer.String()
}

func TestPrintedChartSaysOfWhichBath(t *testing.T) {
	c := exampleChart(23)
	c.Facts = []string{"bath: bicarbonate", "date: 2025-03-04"}
	c.Swatches[3].Order, c.Swatches[3].Lab, c.Swatches[3].Hex = 1, [3]float64{42.6, 19.3, -0.2}, "#90572c"
	for _, format := range []Format{SVG, PDF} {
		drawn := printed(t, format, c)
		for _, words := range []string{"Colours of titanium grade 5", "bath: bicarbonate", "date: 2025-03-04", "Book law", "43 19 0", "#90572c", "order 1", "70 V"} {
			assert.Contains(t, drawn, words, format)
		}
		assert.NotContains(t, drawn, "SIMULATED", format)
		assert.NotContains(t, drawn, "one in", format)
		assert.Equal(t, drawn, printed(t, format, c), "the same bytes")
	}
}

func TestPrintedChartIsMarked(t *testing.T) {
	for word, change := range map[string]func(*Chart){
		"SIMULATED": func(c *Chart) { c.Simulated = true }, "INDICATIVE": func(c *Chart) { c.Indicative = true },
		"NOT MEASURED HERE": func(c *Chart) { c.Book = true },
	} {
		c := exampleChart(5)
		change(&c)
		assert.Contains(t, printed(t, PDF, c), word)
		var landscape bytes.Buffer
		require.NoError(t, ColourChart(&landscape, SVG, c))
		assert.Contains(t, landscape.String(), word)
	}
}

func TestPrintedChartOfMany(t *testing.T) {
	drawn := printed(t, SVG, exampleChart(1201))
	assert.Contains(t, drawn, "the swatches one in 29")
	assert.Contains(t, printed(t, SVG, exampleChart(1)), "0 V")
	nameless := exampleChart(3)
	nameless.Provenance = ""
	assert.ErrorIs(t, PrintedChart(&bytes.Buffer{}, PDF, nameless), ErrNoProvenance)
}

func TestFormatsOfASheet(t *testing.T) {
	for path, want := range map[string]Format{"a.PDF": PDF, "a.svg": SVG, "a.png": PNG} {
		got, err := SheetFormatOf(path)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := SheetFormatOf("a.gif")
	assert.ErrorIs(t, err, ErrFormat)
}

// Each object begins where the table of the document says (ISO 32000-1, 7.5.4), and
// the content is as long as it says.
func TestPDFIsBuiltAsItSays(t *testing.T) {
	text := printed(t, PDF, exampleChart(23))
	begins := regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n$`).FindStringSubmatch(text)
	require.NotNil(t, begins)
	table, err := strconv.Atoi(begins[1])
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(text[table:], "xref\n0 8\n"))
	for i, entry := range regexp.MustCompile(`(\d{10}) 00000 n `).FindAllStringSubmatch(text[table:], -1) {
		place, err := strconv.Atoi(entry[1])
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(text[place:], fmt.Sprintf("%d 0 obj\n", i+1)), "object %d", i+1)
	}
	length := regexp.MustCompile(`/Length (\d+) >>\nstream\n`).FindStringSubmatchIndex(text)
	count, err := strconv.Atoi(text[length[2]:length[3]])
	require.NoError(t, err)
	assert.Equal(t, "endstream", text[length[1]+count:length[1]+count+9])
	assert.Equal(t, strings.Count(text, "\nq\n"), strings.Count(text, "\nQ\n"), "what is pushed is popped")
	assert.Contains(t, text, "/MediaBox [0 0 595 842]")
}

func TestPDFLetters(t *testing.T) {
	assert.Equal(t, `\(a\\b\) \261 \267 \144\205 ?`, pdfText(`(a\b) ± · Δ… 漢`))
	for value, want := range map[float64]string{0: "0", -0.0001: "0", 12.5: "12.5", 1e-9: "0", 100: "100", -2.25: "-2.25"} {
		assert.Equal(t, want, pdfNumber(value))
	}
}

// A load is drawn too, with its arcs; a whole circle is four quarters.
func TestPDFOfALoad(t *testing.T) {
	var buffer bytes.Buffer
	require.NoError(t, LoadPlot(&buffer, PDF, exampleLoad(1)))
	assert.Contains(t, buffer.String(), "(SIMULATED) Tj")
	page := newPDFPage(10, 10)
	before := page.content.Len()
	var path vg.Path
	path.Arc(vg.Point{X: 5, Y: 5}, 2, 0, 6.283185307179586)
	page.Fill(path)
	circle := page.content.String()[before:]
	assert.Equal(t, 4, strings.Count(circle, " c\n"))
	assert.True(t, strings.HasPrefix(circle, "7 5 m\n7 6.105 6.105 7 5 7 c\n"), circle)
}
