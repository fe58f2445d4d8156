package report

import (
	"fmt"
	"io"
)

// Labels are what is cut out and tied to things, one each.
type Labels struct {
	Title     string
	Simulated bool
	Each      []Label
}

// Label is one of them: a large word, and lines below it.
type Label struct {
	Large string
	Lines []string
}

// The labels of a sheet, in points.
const (
	labelColumns = 4
	labelWidth   = 190.0
	labelHeight  = 118.0
	labelHead    = 56.0
)

// DrawLabels draws a sheet of labels, at least one, to cut out. The error wraps
// [ErrFormat], or is what the writer returned.
func DrawLabels(w io.Writer, format Format, l Labels) error {
	if len(l.Each) == 0 {
		return fmt.Errorf("draw labels of %s: there is none", l.Title)
	}
	rows := (len(l.Each) + labelColumns - 1) / labelColumns
	height := labelHead + labelHeight*float64(rows) + 20
	return sheet{l.Title, sheetWidth, height, func(p pen) { l.draw(p, height) }}.write(w, format)
}

func (l Labels) draw(p pen, height float64) {
	p.text(lettering{size: 14, bold: true, ink: ink}, point{28, height - 34}, l.Title)
	if l.Simulated {
		drawSimulated(p, point{sheetWidth - 28 - 78, height - 40})
	}
	for i, label := range l.Each {
		left := 40 + labelWidth*float64(i%labelColumns)
		top := height - labelHead - labelHeight*float64(i/labelColumns)
		label.draw(p, box{left, top - labelHeight + 8, left + labelWidth - 8, top})
	}
}

func (l Label) draw(p pen, b box) {
	p.frame(b, stroke{width: 0.6, ink: hair, dashes: []float64{4, 3}})
	large := lettering{size: 20, bold: true, ink: ink}
	p.text(large, point{b.left + 8, b.top - 26}, large.shorten(l.Large, b.width()-16))
	for i, line := range l.Lines {
		p.text(bodyText, point{b.left + 8, b.top - 42 - 12*float64(i)}, bodyText.shorten(line, b.width()-16))
	}
}
