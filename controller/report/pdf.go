package report

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// pdfPage is a canvas that writes one page of PDF 1.4 (ISO 32000-1). It names the
// standard fonts Helvetica and Helvetica-Bold, which have the widths of the font that
// the other forms are set in, so it embeds none, needs no file beside it, and the same
// drawing gives the same bytes. Pictures are not drawn on these sheets.
type pdfPage struct {
	width, height float64 // points
	content       bytes.Buffer
}

func newPDFPage(width, height float64) *pdfPage {
	p := &pdfPage{width: width, height: height}
	vg.Initialize(p)
	return p
}

// Size is that of the page.
func (p *pdfPage) Size() (x, y vg.Length) { return vg.Length(p.width), vg.Length(p.height) }

// op writes operands and their operator.
func (p *pdfPage) op(operator string, operands ...float64) {
	for _, value := range operands {
		p.content.WriteString(pdfNumber(value))
		p.content.WriteByte(' ')
	}
	p.content.WriteString(operator + "\n")
}

// pdfNumber has thousandths of a point and no exponent.
func pdfNumber(value float64) string {
	text := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(value, 'f', 3, 64), "0"), ".")
	if text == "-0" || text == "" {
		return "0"
	}
	return text
}

// SetLineWidth of the strokes to come.
func (p *pdfPage) SetLineWidth(w vg.Length) { p.op("w", w.Points()) }

// SetLineDash of the strokes to come.
func (p *pdfPage) SetLineDash(pattern []vg.Length, offset vg.Length) {
	words := make([]string, len(pattern))
	for i, length := range pattern {
		words[i] = pdfNumber(length.Points())
	}
	fmt.Fprintf(&p.content, "[%s] %s d\n", strings.Join(words, " "), pdfNumber(offset.Points()))
}

// SetColor of fills, strokes and letters to come; nil is black.
func (p *pdfPage) SetColor(c color.Color) {
	if c == nil {
		c = color.Black
	}
	r, g, b, _ := c.RGBA()
	share := func(v uint32) float64 { return float64(v) / math.MaxUint16 }
	p.op("rg", share(r), share(g), share(b))
	p.op("RG", share(r), share(g), share(b))
}

// Rotate turns what comes, in radians.
func (p *pdfPage) Rotate(angle float64) {
	sin, cos := math.Sincos(angle)
	p.op("cm", cos, sin, -sin, cos, 0, 0)
}

// Translate moves what comes.
func (p *pdfPage) Translate(to vg.Point) { p.op("cm", 1, 0, 0, 1, to.X.Points(), to.Y.Points()) }

// Scale stretches what comes.
func (p *pdfPage) Scale(x, y float64) { p.op("cm", x, 0, 0, y, 0, 0) }

// Push keeps colours, lines and place.
func (p *pdfPage) Push() { p.op("q") }

// Pop takes them up again.
func (p *pdfPage) Pop() { p.op("Q") }

// Stroke draws a path as a line.
func (p *pdfPage) Stroke(path vg.Path) {
	p.path(path)
	p.op("S")
}

// Fill fills a path.
func (p *pdfPage) Fill(path vg.Path) {
	p.path(path)
	p.op("f")
}

// DrawImage is asked for by no sheet of ours.
func (p *pdfPage) DrawImage(vg.Rectangle, image.Image) {
	panic("report: a picture was drawn on a PDF sheet, which holds none")
}

func (p *pdfPage) path(path vg.Path) {
	for i, part := range path {
		x, y := part.Pos.X.Points(), part.Pos.Y.Points()
		switch part.Type {
		case vg.MoveComp:
			p.op("m", x, y)
		case vg.LineComp:
			p.op("l", x, y)
		case vg.ArcComp:
			p.arc(part, i > 0)
		case vg.CurveComp:
			p.curve(part)
		case vg.CloseComp:
			p.op("h")
		}
	}
}

// arc draws a piece of a circle by Bézier curves of a quarter turn at most.
func (p *pdfPage) arc(part vg.PathComp, joined bool) {
	centre, radius := part.Pos, part.Radius.Points()
	pieces := max(1, int(math.Ceil(math.Abs(part.Angle)/(math.Pi/2)-1e-9)))
	by := part.Angle / float64(pieces)
	reach := 4.0 / 3 * math.Tan(by/4) * radius
	place := func(angle, along float64) (x, y float64) {
		sin, cos := math.Sincos(angle)
		return centre.X.Points() + radius*cos - along*sin, centre.Y.Points() + radius*sin + along*cos
	}
	x, y := place(part.Start, 0)
	if joined {
		p.op("l", x, y)
	} else {
		p.op("m", x, y)
	}
	for i := range pieces {
		from := part.Start + by*float64(i)
		x1, y1 := place(from, reach)
		x2, y2 := place(from+by, -reach)
		x3, y3 := place(from+by, 0)
		p.op("c", x1, y1, x2, y2, x3, y3)
	}
}

func (p *pdfPage) curve(part vg.PathComp) {
	first, last := part.Control[0], part.Control[len(part.Control)-1]
	p.op("c", first.X.Points(), first.Y.Points(), last.X.Points(), last.Y.Points(), part.Pos.X.Points(), part.Pos.Y.Points())
}

// FillString sets one line; at is its baseline.
func (p *pdfPage) FillString(face font.Face, at vg.Point, text string) {
	name := "/Regular"
	if face.Font.Weight > 0 {
		name = "/Bold"
	}
	fmt.Fprintf(&p.content, "BT %s %s Tf %s %s Td (%s) Tj ET\n", name, pdfNumber(face.Font.Size.Points()),
		pdfNumber(at.X.Points()), pdfNumber(at.Y.Points()), pdfText(text))
}
