package terminal

import (
	"math"

	"anodized/hal/unit"
)

// eighths are the parts of a block, from nothing to the whole.
var eighths = []rune(" ▁▂▃▄▅▆▇█")

// top is the volts of the strip's upper edge.
func (v View) top() float64 {
	top := 1.0
	if known(v.Target) {
		top = math.Max(top, float64(v.Target))
	}
	for _, c := range v.Past {
		if known(c.Volts) {
			top = math.Max(top, float64(c.Volts))
		}
	}
	return top
}

func (v View) strip(g *grid, first, rows int, a axis, mode ColourMode) {
	top := v.top()
	g.text(1, first, false, value(unit.Volts(top), 0)+" V")
	g.text(1, first+rows/2, false, value(unit.Volts(top/2), 0))
	g.text(1, first+rows-1, false, "0")
	draw := func(x int, c *Column, thread bool) {
		for row := range rows {
			v.stripCell(g, plotLeft+x, first+rows-1-row, float64(c.Volts)/top*float64(rows)-float64(row), c.Film, thread, mode)
		}
	}
	last := -1
	for x, c := range a.sampled(v.Past) {
		if c != nil && known(c.Volts) {
			draw(x, c, false)
			last = x
		}
	}
	for x, c := range a.sampled(v.To) {
		if c != nil && x > last && (x-last)%2 == 0 {
			draw(x, c, true)
		}
	}
	v.post(g, first, rows, a, last, mode)
}

// stripCell sets one cell of a column: fill is how much of it is filled, in cells.
func (v View) stripCell(g *grid, x, y int, fill float64, film Swatch, thread bool, mode ColourMode) {
	eighth := int(math.Round(8 * math.Max(0, math.Min(1, fill))))
	c := cell{letter: eighths[eighth], tinted: film.Name != "", tint: film.Colour}
	switch {
	case thread && fill >= 0.5:
		c.letter = '┊'
	case thread:
		return
	case mode == Mono && eighth >= 4:
		c = cell{letter: film.initial()}
	case mode == Mono && eighth > 0:
		c = cell{letter: '.'}
	}
	if eighth > 0 {
		g.set(x, y, c)
	}
}

// post stands at the predicted end in the wanted colour, while it is to come.
func (v View) post(g *grid, first, rows int, a axis, last int, mode ColourMode) {
	if !known(v.EndTime) || v.Wanted.Name == "" {
		return
	}
	for x := a.column(v.EndTime) - 1; x <= a.column(v.EndTime); x++ {
		for row := range rows {
			if x > last && x < a.columns {
				v.stripCell(g, plotLeft+x, first+rows-1-row, 1, v.Wanted, false, mode)
			}
		}
	}
}
