package terminal

import (
	"math"

	"anodized/hal/unit"
)

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
