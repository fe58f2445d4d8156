package report

import (
	"image/color"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"anodized/controller/record"
)

// The tokens of the page by day. No hue but the film's.
var (
	paper = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	ink   = color.NRGBA{0x08, 0x08, 0x08, 0xff}
	ink2  = color.NRGBA{0x48, 0x48, 0x48, 0xff}
	card  = color.NRGBA{0x9e, 0x9e, 0x9e, 0xff} // neutral grey, L* 65
	hair  = color.NRGBA{0x75, 0x75, 0x75, 0xff}
)

// point is a place on the sheet: points from its lower left corner.
type point struct{ x, y float64 }

// box is an upright rectangle on the sheet.
type box struct{ left, bottom, right, top float64 }

func (b box) width() float64 { return b.right - b.left }

// pen draws on a sheet.
type pen struct{ canvas draw.Canvas }

func newPen(c vg.Canvas, width, height float64) pen {
	p := pen{draw.NewCanvas(c, vg.Length(width), vg.Length(height))}
	p.fill(box{0, 0, width, height}, paper)
	return p
}

func spots(points []point) []vg.Point {
	out := make([]vg.Point, len(points))
	for i, at := range points {
		out[i] = vg.Point{X: vg.Length(at.x), Y: vg.Length(at.y)}
	}
	return out
}

func (p pen) polygon(c color.Color, points ...point) { p.canvas.FillPolygon(c, spots(points)) }

func (p pen) fill(b box, c color.Color) {
	p.polygon(c, point{b.left, b.bottom}, point{b.right, b.bottom}, point{b.right, b.top}, point{b.left, b.top})
}

// stroke is a line's width, ink and dashes, in points.
type stroke struct {
	width  float64
	ink    color.Color
	dashes []float64
}

func (s stroke) style() draw.LineStyle {
	style := draw.LineStyle{Color: s.ink, Width: vg.Length(s.width)}
	for _, dash := range s.dashes {
		style.Dashes = append(style.Dashes, vg.Length(dash))
	}
	return style
}

func (p pen) line(s stroke, points ...point) {
	if len(points) > 1 {
		p.canvas.StrokeLines(s.style(), spots(points))
	}
}

func (p pen) frame(b box, s stroke) {
	p.line(s, point{b.left, b.bottom}, point{b.right, b.bottom}, point{b.right, b.top},
		point{b.left, b.top}, point{b.left, b.bottom}, point{b.right, b.bottom})
}

// arc fills or strokes a piece of a circle, from one angle by another, in radians.
func (p pen) arc(centre point, radius, from, by float64, c color.Color, width float64) {
	start := vg.Point{X: vg.Length(centre.x + radius*math.Cos(from)), Y: vg.Length(centre.y + radius*math.Sin(from))}
	var path vg.Path
	path.Move(start)
	path.Arc(vg.Point{X: vg.Length(centre.x), Y: vg.Length(centre.y)}, vg.Length(radius), from, by)
	p.canvas.SetColor(c)
	if width > 0 {
		p.canvas.SetLineStyle(stroke{width: width, ink: c}.style())
		p.canvas.Stroke(path)
		return
	}
	path.Close()
	p.canvas.Fill(path)
}

func (p pen) disc(centre point, radius float64, c color.Color) {
	p.arc(centre, radius, 0, 2*math.Pi, c, 0)
}

// lettering is how a text is set. Anchor is where its place lies in its width:
// 0 left, 0.5 middle, 1 right.
type lettering struct {
	size   float64
	bold   bool
	ink    color.Color
	anchor float64
}

// boldWeight is bold on the scale of font faces, where regular is 0.
const boldWeight = 3

func (l lettering) style() draw.TextStyle {
	face := font.Font{Typeface: "Liberation", Variant: "Sans", Size: font.Length(l.size)}
	if l.bold {
		face.Weight = boldWeight
	}
	return draw.TextStyle{Color: l.ink, Font: face, XAlign: draw.XAlignment(-l.anchor), Handler: plot.DefaultTextHandler}
}

func (l lettering) width(text string) float64 { return l.style().Width(text).Points() }

// text sets one line; at is its baseline.
func (p pen) text(l lettering, at point, text string) {
	if text != "" {
		p.canvas.FillText(l.style(), vg.Point{X: vg.Length(at.x), Y: vg.Length(at.y)}, record.Escaped(text))
	}
}

// upright sets one line from bottom to top, its middle at a place.
func (p pen) upright(l lettering, at point, text string) {
	style := l.style()
	style.Rotation = math.Pi / 2
	style.XAlign = draw.XCenter
	p.canvas.FillText(style, vg.Point{X: vg.Length(at.x), Y: vg.Length(at.y)}, text)
}

// wrap breaks a text into lines no wider than a width, at most some number of
// them; what does not fit ends in an ellipsis.
func (l lettering) wrap(text string, width float64, most int) []string {
	var lines []string
	current := ""
	for _, word := range strings.Fields(text) {
		longer := strings.TrimSpace(current + " " + word)
		if current != "" && l.width(longer) > width {
			lines, current = append(lines, l.shorten(current, width)), word
			continue
		}
		current = longer
	}
	lines = append(lines, l.shorten(current, width))
	if len(lines) > most {
		lines = lines[:most]
		lines[most-1] = l.shorten(lines[most-1]+" …", width)
	}
	return lines
}

// shorten cuts a text to a width and marks the cut.
func (l lettering) shorten(text string, width float64) string {
	if l.width(text) <= width {
		return text
	}
	letters := []rune(strings.TrimSuffix(text, " …"))
	for len(letters) > 0 && l.width(string(letters)+"…") > width {
		letters = letters[:len(letters)-1]
	}
	return strings.TrimSpace(string(letters)) + "…"
}
