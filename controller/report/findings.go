package report

import (
	"math"
	"strconv"
)

// mark is the place of a numbered finding.
type mark struct {
	number int
	at     float64 // where it points to
	disc   float64 // where its disc is, moved aside where discs would touch
}

const discRadius = 6.5

// marks places the findings that have a moment, from left to right.
func (v loadView) marks() []mark {
	var out []mark
	free := laneLeft
	for i, finding := range v.Findings {
		if math.IsNaN(finding.AtSeconds) || finding.AtSeconds < 0 {
			continue
		}
		at := v.time.at(finding.AtSeconds)
		disc := math.Max(at, free+discRadius)
		free = disc + discRadius + 1.5
		out = append(out, mark{i + 1, at, disc})
	}
	for i := len(out) - 1; i >= 0; i-- { // push back what left the lane
		limit := laneRight - float64(len(out)-1-i)*(2*discRadius+1.5)
		out[i].disc = math.Min(out[i].disc, limit)
	}
	return out
}

func (v loadView) drawFindings(p pen) {
	curve := voltsOf(v.rows)
	for _, m := range v.marks() {
		t := v.Findings[m.number-1].AtSeconds
		y := v.volts.at(valueAt(curve, t))
		drop := []point{{m.disc, findingLine - discRadius}, {m.at, voltsBox.top + 2}, {m.at, y}}
		p.line(casing, drop[1:]...)
		p.line(stroke{width: 0.9, ink: ink}, drop...)
		drawNumber(p, point{m.disc, findingLine}, m.number)
		triangle(p, point{m.at, densityBox.top + 1})
	}
}

func drawNumber(p pen, at point, number int) {
	p.disc(at, discRadius, ink)
	p.text(lettering{size: 8, bold: true, ink: paper, anchor: 0.5}, point{at.x, at.y - 2.9}, strconv.Itoa(number))
}

func triangle(p pen, tip point) {
	p.polygon(ink, tip, point{tip.x - 3.5, tip.y + 6}, point{tip.x + 3.5, tip.y + 6})
}

// valueAt is the value of the last sample at or before a moment, 0 before the first.
func valueAt(samples []sample, t float64) float64 {
	value := 0.0
	for _, s := range samples {
		if s.t > t {
			break
		}
		if !math.IsNaN(s.value) {
			value = s.value
		}
	}
	return value
}
