package report

import (
	"fmt"
	"math"
)

// The gap of the field is the difference: fullGap of the diameter at fullDE and
// beyond, linear below, closed at 1.0.
const (
	fullGap   = 0.17
	fullDE    = 20.0
	closedDE  = 1.0
	fieldSize = 50.0 // radius, points
)

// gapOf returns the opening of the field as a share of its diameter.
func gapOf(difference float64) float64 {
	if math.IsNaN(difference) {
		return fullGap
	}
	share := (difference - closedDE) / (fullDE - closedDE)
	return fullGap * math.Max(0, math.Min(1, share))
}

// drawField draws the split disc of visual colorimetry: the film on the left, the
// wanted colour on the right, on grey.
func (v loadView) drawField(p pen) {
	middle := (fieldBox.left + fieldBox.right) / 2
	centre := point{middle, 396}
	half := gapOf(v.Difference) * fieldSize
	drawHalf(p, point{centre.x - half, centre.y}, math.Pi/2, v.Now)
	drawHalf(p, point{centre.x + half, centre.y}, -math.Pi/2, v.Wanted)
	v.drawFieldNames(p)
	v.drawFieldNumbers(p, point{middle, 316})
}

// drawHalf draws one half, from an angle by half a turn, with an arc of ink outside.
func drawHalf(p pen, centre point, from float64, s Swatch) {
	if s.known() {
		p.arc(centre, fieldSize, from, math.Pi, s.Colour, 0)
	} else {
		hatchHalf(p, centre, from)
	}
	p.arc(centre, fieldSize*1.08, from+0.06, math.Pi-0.12, ink, 1.4)
	if s.Beyond {
		notch := point{centre.x + fieldSize*math.Cos(from+math.Pi/2), centre.y}
		p.disc(notch, 5, card)
	}
}

// hatchHalf shows that a colour is not known.
func hatchHalf(p pen, centre point, from float64) {
	side := math.Cos(from + math.Pi/2)
	for offset := 6.0; offset < fieldSize; offset += 6 {
		reach := math.Sqrt(fieldSize*fieldSize - offset*offset)
		x := centre.x + side*offset
		p.line(thinInk, point{x, centre.y - reach}, point{x, centre.y + reach})
	}
}

func (v loadView) drawFieldNames(p pen) {
	left, right := bodyText, bodyText
	right.anchor = 1
	p.text(left, point{fieldBox.left, 496}, "film")
	p.text(right, point{fieldBox.right, 496}, "wanted")
	left.bold, right.bold = true, true
	drawName(p, left, fieldBox.left, v.Now)
	drawName(p, right, fieldBox.right, v.Wanted)
}

func drawName(p pen, letters lettering, x float64, s Swatch) {
	letters.size = 10
	name := s.Name
	if !s.known() {
		name = "not known"
	}
	for i, line := range letters.wrap(name, 70, 3) {
		p.text(letters, point{x, 483 - 11*float64(i)}, line)
	}
}

func (v loadView) drawFieldNumbers(p pen, at point) {
	big := lettering{size: 17, bold: true, ink: ink, anchor: 0.5}
	small := lettering{size: 9, ink: ink, anchor: 0.5}
	p.text(big, at, differenceWords(v.Difference))
	lines := []string{"CIEDE2000, film to wanted"}
	if v.Now.known() {
		lines = append(lines, number(float64(v.Now.Thickness), 1)+" nm by volts", v.Now.Hex)
	}
	if v.Wanted.known() {
		lines = append(lines, "wanted "+number(float64(v.Wanted.Thickness), 1)+" nm, "+v.Wanted.Hex)
	}
	if v.Now.Beyond || v.Wanted.Beyond {
		lines = append(lines, "notched: beyond this screen")
	}
	for i, line := range lines {
		p.text(small, point{at.x, at.y - 15 - 12*float64(i)}, line)
	}
	v.drawFacts(p)
}

func differenceWords(difference float64) string {
	if math.IsNaN(difference) {
		return "ΔE not known"
	}
	return fmt.Sprintf("ΔE %.1f", difference)
}

// mostFacts is how many lines fit under the field.
const mostFacts = 6

func (v loadView) drawFacts(p pen) {
	for i, fact := range v.Facts {
		if i == mostFacts {
			return
		}
		p.text(bodyText, point{fieldBox.left, 226 - 12*float64(i)}, bodyText.shorten(fact, fieldBox.width()+22))
	}
}
