package report

import (
	"math"

	"anodized/controller/record"
)

// tick draws a tick of an upright axis and its label.
func tick(p pen, y float64, label string) {
	p.line(thinInk, point{laneLeft - 4, y}, point{laneLeft, y})
	letters := axisText
	letters.anchor = 1
	p.text(letters, point{laneLeft - 6, y - 3}, label)
}

// rightLabel names a line at its right end.
func rightLabel(p pen, y float64, label string) {
	p.text(axisText, point{laneRight + 5, y - 3}, label)
}

func laneName(p pen, lane box, name string) {
	p.upright(axisText, point{laneLeft - 34, (lane.bottom + lane.top) / 2}, name)
}

func across(p pen, s stroke, y float64) { p.line(s, point{laneLeft, y}, point{laneRight, y}) }

func (v loadView) drawVolts(p pen) {
	v.drawStrip(p)
	laneName(p, voltsBox, "volts, V")
	target := float64(v.Plan.TargetVolts)
	if !(target > 0) {
		target = highest(voltsOf(v.rows))
	}
	for _, value := range []float64{0, target / 2, target} {
		tick(p, v.volts.at(value), number(value, 1))
	}
	v.drawCurve(p, v.setpoints(), v.volts, dotted)
	v.drawCurve(p, voltsOf(v.rows), v.volts, casing, stroke{width: 2, ink: ink})
	across(p, thinInk, voltsBox.bottom)
}

// setpoints are the commanded volts while the output was on.
func (v loadView) setpoints() []sample {
	out := make([]sample, len(v.rows))
	for i, row := range v.rows {
		out[i] = sample{float64(row.T), float64(row.Set)}
		if !on(row) || !(row.Set > 0) { // 0 is not known
			out[i].value = math.NaN()
		}
	}
	return out
}

// drawStrip paints the area under the volts with the colour of the moment.
func (v loadView) drawStrip(p pen) {
	for _, piece := range pieces(voltsOf(v.rows), v.longest) {
		for i, stop := range v.Colours {
			until := v.lastSecond()
			if i+1 < len(v.Colours) {
				overlap := (v.time.high - v.time.low) / (laneRight - laneLeft) // a point, against seams
				until = math.Min(until, float64(v.Colours[i+1].T)+overlap)
			}
			v.drawColumn(p, between(piece, float64(stop.T), until), stop)
		}
	}
}

func (v loadView) drawColumn(p pen, piece []sample, stop Stop) {
	if len(piece) < 2 {
		return
	}
	outline := v.plot(piece, v.volts)
	first, last := outline[0].x, outline[len(outline)-1].x
	outline = append(outline, point{last, voltsBox.bottom}, point{first, voltsBox.bottom})
	p.polygon(stop.Colour, outline...)
}

func (v loadView) drawDensity(p pen) {
	laneName(p, densityBox, "mA/cm²")
	for _, value := range v.density.decades() {
		across(p, hairLine, v.density.at(value))
		tick(p, v.density.at(value), number(value, 4))
	}
	across(p, thinInk, densityBox.bottom)
	if limit := float64(v.Plan.CurrentDensity); limit > 0 {
		across(p, dotted, v.density.at(limit))
		rightLabel(p, v.density.at(limit), "limit "+number(limit, 2))
	}
	if end := float64(v.Plan.End.CurrentDensity); end > 0 && !(v.Plan.End.Time > 0) {
		across(p, dashed, v.density.at(end))
		rightLabel(p, v.density.at(end), "end "+number(end, 3))
	}
	v.drawCurve(p, densityOf(v.conducting(), v.Plan.Area), v.density, curveInk)
	v.drawEndBracket(p)
}

// conducting are the rows with the output on: off, the density says nothing.
func (v loadView) conducting() []record.Row {
	out := make([]record.Row, 0, len(v.rows))
	for _, row := range v.rows {
		if on(row) {
			out = append(out, row)
		}
	}
	return out
}

func (v loadView) drawThickness(p pen) {
	laneName(p, thicknessBox, "film, nm")
	for _, value := range []float64{0, v.thickness.high / 2, v.thickness.high} {
		tick(p, v.thickness.at(value), number(value, 1))
	}
	across(p, thinInk, thicknessBox.bottom)
	if wanted := float64(v.Wanted.Thickness); wanted > 0 {
		across(p, dotted, v.thickness.at(wanted))
		rightLabel(p, v.thickness.at(wanted), "wanted "+number(wanted, 0))
	}
	byVolts, byCharge := make([]sample, len(v.Film)), make([]sample, len(v.Film))
	for i, f := range v.Film {
		byVolts[i], byCharge[i] = sample{float64(f.T), float64(f.ByVolts)}, sample{float64(f.T), float64(f.ByCharge)}
	}
	v.drawCurve(p, byVolts, v.thickness, curveInk)
	v.drawRings(p, byCharge, v.thickness)
	v.drawThicknessKey(p)
}

// drawRings marks a curve with open rings, so that it shows where it lies on another.
func (v loadView) drawRings(p pen, samples []sample, s scale) {
	next := 0.0
	for _, one := range samples {
		if x := v.time.at(one.t); !math.IsNaN(one.value) && x >= next {
			ring(p, point{x, s.at(one.value)})
			next = x + ringDistance
		}
	}
}

const ringDistance = 21.0 // points

func ring(p pen, at point) {
	p.disc(at, 2.6, card)
	p.arc(at, 2.6, 0, 2*math.Pi, ink, 0.9)
}

func (v loadView) drawThicknessKey(p pen) {
	x, y := laneRight-118, thicknessBox.bottom+8
	p.line(curveInk, point{x, y + 3}, point{x + 14, y + 3})
	p.text(axisText, point{x + 18, y}, "by volts")
	ring(p, point{x + 66, y + 3})
	p.text(axisText, point{x + 72, y}, "by charge")
}
