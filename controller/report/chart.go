package report

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
)

// Chart is the colours of one metal in one bath, by volts.
type Chart struct {
	Title      string // "titanium grade 5"
	Viewing    string // illuminant, observer and angle
	Provenance string // whose law; a chart is never shown without it
	Simulated  bool
	Book       bool     // of literature, not measured in a bath of the shop
	Indicative bool     // colours of this metal are a hint only
	Facts      []string // of a sheet: bath, finish, date, law, end, in short lines
	Swatches   []Swatch // by rising volts
}

// MostCells is how many swatches a chart shows one by one; of a finer chart every
// second, third and so on is shown, and the chart says so.
const MostCells = 120

// The errors of a chart that cannot be drawn.
var (
	ErrNoColours    = errors.New("the chart has no colour")
	ErrNoProvenance = errors.New("a chart without provenance is never shown")
	ErrNotRising    = errors.New("volts must rise from swatch to swatch")
)

// ColourChart draws a rule of all colours over volts, and below it a swatch for
// each with volts, name, thickness and tolerance. It returns [ErrNoColours],
// [ErrNoProvenance], [ErrNotRising], [ErrFormat], or what the writer returned.
func ColourChart(w io.Writer, format Format, c Chart) error {
	if err := c.check(); err != nil {
		return fmt.Errorf("draw chart of %s: %w", c.Title, err)
	}
	view := chartView{Chart: c, every: (len(c.Swatches) + MostCells - 1) / MostCells}
	return sheet{c.spoken(), sheetWidth, view.height(), view.draw}.write(w, format)
}

// spoken is the title for those who cannot see the picture.
func (c Chart) spoken() string {
	title := "Colours of " + c.Title + " by volts"
	if c.Simulated {
		title = "SIMULATED " + title
	}
	if c.Indicative {
		title += ", INDICATIVE"
	}
	return title
}

// marks are the words in boxes that a chart must not be read without.
func (c Chart) marks() []string {
	var words []string
	for _, one := range []struct {
		holds bool
		word  string
	}{{c.Simulated, simulatedMark}, {c.Indicative, "INDICATIVE"}, {c.Book && !c.Simulated, "NOT MEASURED HERE"}} {
		if one.holds {
			words = append(words, one.word)
		}
	}
	return words
}

func (c Chart) check() error {
	if len(c.Swatches) == 0 {
		return ErrNoColours
	}
	if strings.TrimSpace(c.Provenance) == "" {
		return ErrNoProvenance
	}
	for i := 1; i < len(c.Swatches); i++ {
		if !(c.Swatches[i].Volts > c.Swatches[i-1].Volts) {
			return fmt.Errorf("%g V after %g V: %w", c.Swatches[i].Volts, c.Swatches[i-1].Volts, ErrNotRising)
		}
	}
	return nil
}

// The cells of a chart, in points. Grey for more than a fifth of its width lies
// round every swatch.
const (
	cellColumns = 8
	cellWidth   = 98.0
	cellHeight  = 92.0
	swatchWide  = 64.0
	swatchHigh  = 40.0
	chartHead   = 168.0 // title, rule and its axis
	chartFoot   = 62.0
)

// chartView is a chart with the distance of its cells.
type chartView struct {
	Chart
	every int
}

func (v chartView) cells() []Swatch {
	var out []Swatch
	for i := 0; i < len(v.Swatches); i += v.every {
		out = append(out, v.Swatches[i])
	}
	return out
}

func (v chartView) lines() int { return (len(v.cells()) + cellColumns - 1) / cellColumns }

func (v chartView) height() float64 {
	return chartHead + chartFoot + 16 + cellHeight*float64(v.lines())
}

func (v chartView) draw(p pen) {
	top := v.height()
	p.text(lettering{size: 22, bold: true, ink: ink}, point{28, top - 42}, "Colours of "+v.Title+" by volts")
	sub := lettering{size: 10.5, ink: ink2}
	p.text(sub, point{28, top - 62}, sub.shorten(v.Viewing, sheetWidth-56))
	p.fill(box{28, chartFoot, sheetWidth - 28, top - 76}, card)
	v.drawRule(p, box{48, top - 124, sheetWidth - 48, top - 92})
	for i, swatch := range v.cells() {
		left := 29 + cellWidth*float64(i%cellColumns)
		v.drawCell(p, point{left, top - chartHead - cellHeight*float64(i/cellColumns)}, swatch)
	}
	drawMarks(p, point{sheetWidth - 28, top - 60}, v.marks())
	v.drawCaption(p)
}

// drawRule draws every colour of the chart as a column over volts.
func (v chartView) drawRule(p pen, rule box) {
	first, last := float64(v.Swatches[0].Volts), float64(v.Swatches[len(v.Swatches)-1].Volts)
	if !(last > first) {
		p.fill(rule, v.Swatches[0].Colour)
		return
	}
	s := scale{first, last, rule.left, rule.right, false}
	for i, swatch := range v.Swatches {
		p.fill(box{v.edge(s, i), rule.bottom, rule.right, rule.top}, swatch.Colour)
	}
	letters := lettering{size: 8.5, ink: ink, anchor: 0.5}
	step := voltStep(last - first)
	for volts := step * math.Ceil(first/step); volts <= last+1e-9; volts += step {
		x := s.at(volts)
		p.line(thinInk, point{x, rule.bottom - 2}, point{x, rule.bottom - 6})
		p.text(letters, point{x, rule.bottom - 15}, number(volts, 1)+" V")
	}
}

// edge is where the column of a swatch begins: halfway from the one before.
func (v chartView) edge(s scale, i int) float64 {
	if i == 0 {
		return s.start
	}
	return s.at(float64(v.Swatches[i-1].Volts+v.Swatches[i].Volts) / 2)
}

// voltStep is the distance of ticks that gives about ten of them.
func voltStep(span float64) float64 {
	for _, step := range []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50} {
		if span/step <= 13 {
			return step
		}
	}
	return 100
}

// drawCell draws one swatch on the card, at the upper left corner of its cell.
func (v chartView) drawCell(p pen, at point, s Swatch) {
	middle := at.x + cellWidth/2
	left, top := middle-swatchWide/2, at.y-4
	p.fill(box{left, top - swatchHigh, left + swatchWide, top}, s.Colour)
	if s.Beyond { // a corner cut off: the screen cannot show it
		corner := point{left + swatchWide, top}
		p.polygon(card, corner, point{corner.x - 11, corner.y}, point{corner.x, corner.y - 11})
	}
	letters := lettering{size: 10, bold: true, ink: ink, anchor: 0.5}
	p.text(letters, point{middle, top - swatchHigh - 11}, number(float64(s.Volts), 2)+" V")
	letters = lettering{size: 8.5, ink: ink, anchor: 0.5}
	p.text(letters, point{middle, top - swatchHigh - 21.5}, letters.shorten(s.Name, cellWidth-6))
	letters.size = 8
	p.text(letters, point{middle, top - swatchHigh - 31.5}, cellNumbers(s))
}

func cellNumbers(s Swatch) string {
	words := number(float64(s.Thickness), 1) + " nm"
	if s.Tolerance > 0 {
		words += " · ±" + number(float64(s.Tolerance), 2) + " V"
	}
	return words
}

func (v chartView) drawCaption(p pen) {
	caption := lettering{size: 8.5, ink: ink2}
	words := v.Provenance + " Beside each thickness: the volts either way that keep the colour within ΔE00 1.0." +
		" A cut corner: beyond this screen's gamut, shown clipped. Screen colours orient, readings decide."
	if v.every > 1 {
		words += fmt.Sprintf(" The rule shows all %d colours, the swatches one in %d.", len(v.Swatches), v.every)
	}
	for i, line := range caption.wrap(words, sheetWidth-56, 3) {
		p.text(caption, point{28, chartFoot - 16 - 11.5*float64(i)}, line)
	}
}
