package report

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"anodized/controller/fault"
)

func (v loadView) drawHeader(p pen) {
	p.text(lettering{size: 22, bold: true, ink: ink}, point{28, 556}, v.Title)
	sub := lettering{size: 10.5, ink: ink2}
	p.text(sub, point{28, 534}, sub.shorten(v.Subtitle, 470))
	verdicts := []struct{ word, value string }{{"ended", v.Ended}, {"electrical", v.Electrical}, {"colour", v.Colour}}
	for i, verdict := range verdicts {
		y := 564 - 15*float64(i)
		p.text(lettering{size: 10, ink: ink2}, point{524, y}, verdict.word)
		value := lettering{size: 10, bold: true, ink: ink}
		p.text(value, point{580, y}, value.shorten(verdict.value, 234))
	}
}

// The notes below the card: findings in two columns, then where the colours come from.
const (
	noteTop     = 134.0
	noteLeading = 11.5
	noteLines   = 8
	noteWidth   = 372.0
	noteIndent  = 18.0
)

func (v loadView) drawNotes(p pen) {
	p.text(boldText, point{28, noteTop}, v.findingsHeading())
	v.drawFindingNotes(p)
	caption := lettering{size: 8.5, ink: ink2}
	for i, line := range caption.wrap(v.caption(), sheetWidth-56, 2) {
		p.text(caption, point{28, 27 - 11*float64(i)}, line)
	}
}

func (v loadView) findingsHeading() string {
	switch len(v.Findings) {
	case 0:
		return "Findings on the curve: none"
	case 1:
		return "One finding on the curve"
	}
	return fmt.Sprintf("%d findings on the curve", len(v.Findings))
}

// caption says whose colours these are and what they are worth.
func (v loadView) caption() string {
	return strings.TrimSpace(v.Provenance + " Screen colours orient, readings decide: the verdict is a number.")
}

// drawFindingNotes fills the left column, then the right one; the last place is
// kept for how many more there are.
func (v loadView) drawFindingNotes(p pen) {
	column, used := 0, 0
	for i, finding := range v.Findings {
		lines := bodyText.wrap(findingWords(finding), noteWidth-noteIndent, 3)
		if used+len(lines) > noteLines-1 {
			column, used = column+1, 0
		}
		if column > 1 {
			more := fmt.Sprintf("and %d more in the record", len(v.Findings)-i)
			p.text(bodyText, point{28 + noteWidth + 30 + noteIndent, noteTop - noteLeading*noteLines}, more)
			return
		}
		x := 28 + float64(column)*(noteWidth+30)
		y := noteTop - noteLeading*float64(used+1) - 3
		drawNumber(p, point{x + discRadius, y + 3}, i+1)
		for j, line := range lines {
			p.text(bodyText, point{x + noteIndent, y - noteLeading*float64(j)}, line)
		}
		used += len(lines)
	}
}

// findingWords is what was seen, then what to do, then the code for the manual.
func findingWords(f fault.Finding) string {
	words := strings.Join(f.Evidence, "; ")
	if words == "" {
		words = string(f.Code)
	}
	text := sentence(words)
	if f.Action != "" {
		text += " " + sentence(f.Action)
	}
	if math.IsNaN(f.AtSeconds) || f.AtSeconds < 0 {
		return fmt.Sprintf("%s (%s)", text, f.Code)
	}
	return fmt.Sprintf("%s (%s, %s)", text, f.Code, clock(f.AtSeconds))
}

// sentence begins a text with a capital and ends it with a full stop.
func sentence(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(first)) + strings.TrimSuffix(text[size:], ".") + "."
}
