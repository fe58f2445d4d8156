package report

import (
	"fmt"
	"io"
)

// The printed chart is A4 on its short side, in points.
const (
	printedWidth  = 595.0
	printedHeight = 842.0
	printedSide   = 36.0 // margin
	printedAcross = 6    // swatches in a line
	printedLines  = 7    // of them, at most
	printedMost   = printedAcross * printedLines
	printedTall   = 92.0 // a line where there are few
	printedWords  = 36.0 // of a line, below its swatches
)

// PrintedChart draws the chart of a bath on one sheet for the wall: what it is of and
// whose law it is, a rule of all colours over volts with their orders and how far the
// volts may be off, and a swatch with all its numbers for each, or for one in so many.
// Its errors are those of [ColourChart]. The same chart gives the same bytes.
func PrintedChart(w io.Writer, format Format, c Chart) error {
	if err := c.check(); err != nil {
		return fmt.Errorf("draw chart of %s: %w", c.Title, err)
	}
	view := printedView{c, (len(c.Swatches) + printedMost - 1) / printedMost}
	return sheet{c.spoken(), printedWidth, printedHeight, view.draw}.write(w, format)
}

// printedView is a chart with the distance of its swatches.
type printedView struct {
	Chart
	every int
}

// The places of the sheet.
var (
	printedRight = printedWidth - printedSide
	ruleBox      = box{printedSide, 646, printedRight, 688}
	looseBox     = box{printedSide, 588, printedRight, 624} // how far the volts may be off
	swatchesTop  = 566.0
	footTop      = 74.0
)

func (v printedView) draw(p pen) {
	v.drawHead(p)
	v.drawPrintedRule(p)
	v.drawLoose(p)
	v.drawCells(p)
	v.drawFoot(p)
}

func (v printedView) drawCells(p pen) {
	count := (len(v.Swatches) + v.every - 1) / v.every
	lines := (count + printedAcross - 1) / printedAcross
	high := min(printedTall, (swatchesTop-footTop)/float64(lines))
	wide := (printedRight - printedSide) / printedAcross
	for i := range count {
		left, top := printedSide+wide*float64(i%printedAcross), swatchesTop-high*float64(i/printedAcross)
		drawPrintedCell(p, box{left, top - high, left + wide, top}, v.Swatches[i*v.every])
	}
}

func (v printedView) drawHead(p pen) {
	title := lettering{size: 19, bold: true, ink: ink}
	p.text(title, point{printedSide, 792}, title.shorten("Colours of "+v.Title, printedRight-printedSide))
	small := lettering{size: 8.5, ink: ink}
	p.text(small, point{printedSide, 776}, small.shorten(v.Viewing, printedRight-printedSide))
	half := (printedRight - printedSide) / 2
	for i, fact := range v.Facts[:min(len(v.Facts), 8)] {
		at := point{printedSide + half*float64(i%2), 758 - 13*float64(i/2)}
		p.text(small, at, small.shorten(fact, half-10))
	}
	drawMarks(p, point{printedRight, 771}, v.marks())
}

func (v printedView) drawFoot(p pen) {
	small := lettering{size: 7.5, ink: ink}
	words := v.Provenance + " Volts either way (±) keep the colour within dE00 1.0. A cut corner: beyond what sRGB can show, printed clipped." +
		" No print and no screen is a colour reading: judge a coupon."
	if v.every > 1 {
		words += fmt.Sprintf(" The rule shows all %d colours, the swatches one in %d.", len(v.Swatches), v.every)
	}
	for i, line := range small.wrap(words, printedRight-printedSide, 4) {
		p.text(small, point{printedSide, footTop - 14 - 10*float64(i)}, line)
	}
}

// drawPrintedCell draws one swatch on grey of its own, so that the sheet takes little
// ink, with its numbers below.
func drawPrintedCell(p pen, cell box, s Swatch) {
	grey := box{cell.left + 3, cell.bottom + printedWords, cell.right - 3, cell.top}
	p.fill(grey, card)
	side, above := 0.16*grey.width(), 0.16*(grey.top-grey.bottom)
	inner := box{grey.left + side, grey.bottom + above, grey.right - side, grey.top - above}
	p.fill(inner, s.Colour)
	if s.Beyond { // a corner cut off: sRGB cannot show it
		p.polygon(card, point{inner.right, inner.top}, point{inner.right - 8, inner.top}, point{inner.right, inner.top - 8})
	}
	letters := lettering{size: 8, bold: true, ink: ink, anchor: 0.5}
	middle := (grey.left + grey.right) / 2
	head := number(float64(s.Volts), 2) + " V"
	if s.Order > 0 {
		head += fmt.Sprintf(" · order %d", s.Order)
	}
	p.text(letters, point{middle, grey.bottom - 8.5}, head)
	letters = lettering{size: 7, ink: ink, anchor: 0.5}
	for i, line := range []string{letters.shorten(s.Name, grey.width()), cellNumbers(s), labNumbers(s)} {
		p.text(letters, point{middle, grey.bottom - 16.5 - 7.6*float64(i)}, line)
	}
}

func labNumbers(s Swatch) string {
	return fmt.Sprintf("%s %s %s  %s", number(s.Lab[0], 0), number(s.Lab[1], 0), number(s.Lab[2], 0), s.Hex)
}
