package report

import (
	"math"

	"anodized/controller/process"
	"anodized/controller/record"
)

// limited tells whether amperes set the pace. A curve without setpoints is held
// against the target.
func (v loadView) limited(row record.Row) bool {
	set := row.Set
	if !(set > 0) {
		set = v.Plan.TargetVolts
	}
	return on(row) && process.Limited(process.Mode(row.Mode), row.Volts, row.Amperes, set, row.Limit, 0)
}

// regulation is a span in which the supply was at its current limit.
type regulation struct{ from, to float64 }

func (v loadView) regulations() []regulation {
	var out []regulation
	open := false
	for _, row := range v.rows {
		t := float64(row.T)
		switch {
		case v.limited(row) && !open:
			out, open = append(out, regulation{t, t}), true
		case v.limited(row):
			out[len(out)-1].to = t
		case open && !math.IsNaN(float64(row.Volts)):
			out[len(out)-1].to, open = t, false
		}
	}
	return out
}

// drawRegulation draws a bar on the time axis while amperes set the pace, and a
// lozenge at each change.
func (v loadView) drawRegulation(p pen) {
	y := thicknessBox.bottom
	spans := v.regulations()
	for _, span := range spans {
		p.fill(box{v.time.at(span.from), y - 1.6, v.time.at(span.to), y + 1.6}, ink)
	}
	for _, span := range spans {
		lozenge(p, point{v.time.at(span.from), y})
		lozenge(p, point{v.time.at(span.to), y})
	}
	if len(spans) > 0 {
		x := laneRight - 152
		p.fill(box{x, y - 27.6, x + 16, y - 24.4}, ink)
		lozenge(p, point{x + 16, y - 26})
		p.text(axisText, point{x + 24, y - 29}, "amperes set the pace (CC)")
	}
}

func lozenge(p pen, at point) {
	outline := []point{{at.x - 4, at.y}, {at.x, at.y + 4}, {at.x + 4, at.y}, {at.x, at.y - 4}}
	p.polygon(card, outline...)
	p.line(stroke{width: 1, ink: ink}, append(outline, outline[0], outline[1])...)
}
