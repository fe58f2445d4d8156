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
