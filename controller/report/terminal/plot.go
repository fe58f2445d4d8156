package terminal

import (
	"math"

	"anodized/hal/unit"
)

// plotLeft is where the plot begins, right of its labels; densityRows is the
// height of the lane of the current.
const (
	plotLeft    = 10
	densityRows = 3
)

// eighths are the parts of a block, from nothing to the whole.
var eighths = []rune(" ▁▂▃▄▅▆▇█")

// plot draws the film strip, the current on a log scale and the time axis into
// the lines first..last-1.
func (v View) plot(g *grid, first, last int, mode ColourMode) {
	strip := last - first - densityRows - 1
	if strip < 3 {
		return
	}
	axis := v.axis(g.width - plotLeft - 1)
	v.strip(g, first, strip, axis, mode)
	v.density(g, first+strip, axis)
	v.times(g, last-1, axis)
}

// axis is the time axis: how many columns, and how many seconds each.
type axis struct {
	columns int
	second  float64 // seconds in a column
}

// axis holds the whole plan, and grows in steps of 30 s.
func (v View) axis(columns int) axis {
	end := float64(v.EndTime)
	for _, list := range [][]Column{v.Past, v.To} {
		if len(list) > 0 {
			end = math.Max(end, float64(list[len(list)-1].T))
		}
	}
	if math.IsNaN(end) || end < 30 {
		end = 30
	}
	end = 30 * math.Ceil(end/30-1e-9)
	return axis{columns, end / float64(columns)}
}

func (a axis) column(t unit.Seconds) int { return int(float64(t) / a.second) }

// sampled gives each column of the picture the last reading that falls into it,
// or the one before where readings are further apart than columns, up to a second.
func (a axis) sampled(list []Column) []*Column {
	out := make([]*Column, a.columns)
	for i := range list {
		if x := a.column(list[i].T); list[i].T >= 0 && x < a.columns {
			out[x] = &list[i]
		}
	}
	for x := 1; x < a.columns; x++ {
		if before := out[x-1]; out[x] == nil && before != nil && float64(x+1)*a.second-float64(before.T) <= a.second+1 {
			out[x] = before
		}
	}
	return out
}

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

// level is where a density lies in the lane, in rows from its foot.
func (v View) level(j unit.CurrentDensity) float64 {
	low, high := v.densityRange()
	if !(float64(j) > low) {
		return 0
	}
	return math.Min(1, math.Log(float64(j)/low)/math.Log(high/low)) * densityRows
}

// densityRange goes from below the end criterion to the limit.
func (v View) densityRange() (low, high float64) {
	high = float64(v.LimitAt)
	if !(high > 0) {
		high = 10
	}
	low = high / 100
	if v.EndAt > 0 && float64(v.EndAt) < high {
		low = float64(v.EndAt) / 2.5
	}
	return low, high * 1.05
}

// density draws the current over time on a log scale, with the end criterion as
// a broken line.
func (v View) density(g *grid, first int, a axis) {
	g.text(1, first, false, "lim "+short(v.LimitAt))
	g.text(1, first+1, false, "mA/cm2")
	end := -1
	if v.EndAt > 0 {
		end = first + densityRows - 1 - int(v.level(v.EndAt))
		g.text(1, first+densityRows-1, false, "end "+short(v.EndAt))
		for x := range a.columns {
			g.set(plotLeft+x, end, cell{letter: '╌'})
		}
	}
	for x, c := range a.sampled(v.Past) {
		if c == nil || !known(c.Density) {
			continue
		}
		level := v.level(c.Density)
		for row := range densityRows {
			eighth := int(math.Round(8 * math.Max(0, math.Min(1, level-float64(row)))))
			if eighth > 0 {
				g.set(plotLeft+x, first+densityRows-1-row, cell{letter: eighths[eighth]})
			}
		}
	}
}

// times writes the time axis: a label at each half minute, or further apart.
func (v View) times(g *grid, y int, a axis) {
	step := 30.0
	for step/a.second < 9 {
		step *= 2
	}
	for t := 0.0; ; t += step {
		x := a.column(unit.Seconds(t + 1e-6))
		label := clock(unit.Seconds(t))
		if x+len(label) > a.columns+1 {
			return
		}
		g.text(plotLeft+x, y, false, label)
	}
}
