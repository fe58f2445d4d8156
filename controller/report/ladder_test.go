package report

import (
	"bytes"
	"image/color"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal/unit"
)

func exampleFit() LadderFit {
	l := LadderFit{
		Title: "Ladder spring-2026", Subtitle: "2.0786 ± 0.0013 nm/V", Provenance: "ladder of 3 coupons", Simulated: true,
		Facts: []string{"Verdict: good", "The reading at 40 V is left out: the two were swapped."},
	}
	for v := range 50 {
		l.Fitted = append(l.Fitted, Swatch{Volts: unit.Volts(10 + v), Colour: color.NRGBA{uint8(4 * v), 90, 120, 255}})
	}
	for i, v := range []unit.Volts{20, 22, 40} {
		l.Coupons = append(l.Coupons, LadderCoupon{
			Volts: v, Measured: color.NRGBA{200, 10, 10, 255}, Expected: color.NRGBA{10, 200, 10, 255},
			Off: [3]float64{0.3, -0.4, 8 * float64(i/2)}, DE00: 0.5 + 9*float64(i/2), Wrong: i == 2,
		})
	}
	return l
}

func TestLadderShowsWhatWasLeftOut(t *testing.T) {
	var svg bytes.Buffer
	require.NoError(t, DrawLadder(&svg, SVG, exampleFit()))
	for _, words := range []string{"Ladder spring-2026", "SIMULATED", "9.5 wrong", "the two were swapped", "ladder of 3 coupons", "measured less fit"} {
		assert.Contains(t, svg.String(), words)
	}
	var again bytes.Buffer
	require.NoError(t, DrawLadder(&again, SVG, exampleFit()))
	assert.Equal(t, svg.String(), again.String())
}

// The scale of the residuals is of the readings that are used: 0.4 makes 1, and the 8 of
// a wrong one does not press them flat.
func TestWrongReadingsDoNotStretchTheScale(t *testing.T) {
	assert.InDelta(t, 0.4, ladderView{exampleFit()}.largestOff(), 1e-12)
}

func TestLadderRefuses(t *testing.T) {
	nameless, empty := exampleFit(), exampleFit()
	nameless.Provenance, empty.Coupons = "", nil
	assert.ErrorIs(t, DrawLadder(&bytes.Buffer{}, SVG, nameless), ErrNoProvenance)
	assert.ErrorIs(t, DrawLadder(&bytes.Buffer{}, PNG, empty), ErrNoColours)
	assert.ErrorIs(t, DrawLadder(&bytes.Buffer{}, "gif", exampleFit()), ErrFormat)
}

func TestLabels(t *testing.T) {
	l := Labels{Title: "Ladder spring-2026", Each: []Label{{"1   20 V", []string{"bath bicarbonate"}}, {"2   22 V", nil}, {}, {}, {"5   99 V", nil}}}
	var svg bytes.Buffer
	require.NoError(t, DrawLabels(&svg, SVG, l))
	for _, words := range []string{"1   20 V", "bath bicarbonate", "5   99 V"} {
		assert.Contains(t, svg.String(), words)
	}
	assert.NotContains(t, svg.String(), "SIMULATED")
	l.Simulated = true
	require.NoError(t, DrawLabels(&svg, SVG, l))
	assert.Contains(t, svg.String(), "SIMULATED")
	assert.Error(t, DrawLabels(&svg, SVG, Labels{}))
}
