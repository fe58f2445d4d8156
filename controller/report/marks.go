package report

import (
	"math"
	"strconv"

	"anodized/controller/process"
	"anodized/controller/record"
)

// on tells whether the output was commanded on and not read back off.
func on(row record.Row) bool {
	state := process.State(row.State)
	return state == process.ContactCheck || state == process.Ramping || state == process.Holding
}

// limited tells whether amperes set the pace. A curve without setpoints is held
// against the target.
func (v loadView) limited(row record.Row) bool {
	set := row.Set
	if !(set > 0) {
		set = v.Plan.TargetVolts
	}
	return on(row) && process.Limited(process.Mode(row.Mode), row.Volts, row.Amperes, set, row.Limit, 0)
}

func (v loadView) drawTimeAxis(p pen) {
	y := thicknessBox.bottom
	letters := axisText
	letters.anchor = 0.5
	step := tickStep(v.time.high)
	for t := 0.0; t <= v.time.high+1e-9; t += step {
		x := v.time.at(t)
		for _, lane := range []box{voltsBox, densityBox, thicknessBox} {
			p.line(thinInk, point{x, lane.bottom}, point{x, lane.bottom - 3})
		}
		p.text(letters, point{x, y - 14}, clock(t))
	}
	p.text(axisText, point{laneLeft, y - 29}, "time from the first energised second, min:s")
}

var stageWords = map[process.State]string{
	process.ContactCheck: "check", process.Ramping: "ramp", process.Holding: "hold", process.Discharging: "off",
}

// drawStages ticks the changes of state along the top.
func (v loadView) drawStages(p pen) {
	was, free := process.Idle, 0.0
	for _, row := range v.rows {
		state := process.State(row.State)
		word, known := stageWords[state]
		if state == was || !known {
			continue
		}
		was = state
		x := v.time.at(float64(row.T))
		p.line(thinInk, point{x, stageLine - 2}, point{x, stageLine + 8})
		if x >= free {
			p.text(axisText, point{x + 3, stageLine}, word)
			free = x + 8 + axisText.width(word)
		}
	}
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

// drawEndBracket brackets the seconds for which the end criterion had held.
func (v loadView) drawEndBracket(p pen) {
	end := v.holdEnd()
	seconds := float64(v.Plan.End.Sustained)
	if v.Plan.End.Time > 0 {
		seconds = float64(v.Plan.End.Time)
	}
	if v.Outcome != record.Complete || math.IsNaN(end) || !(seconds > 0) {
		return
	}
	y := densityBox.bottom + 4
	left, right := v.time.at(end-seconds), v.time.at(end)
	p.line(stroke{width: 1.2, ink: ink}, point{left, y + 3}, point{left, y}, point{right, y}, point{right, y + 3})
	p.text(axisText, point{right + 4, y - 1.5}, "held "+number(seconds, 1)+" s")
}

// holdEnd is the moment of the last row in the hold, NaN where there was none.
func (v loadView) holdEnd() float64 {
	end := math.NaN()
	for _, row := range v.rows {
		if process.State(row.State) == process.Holding {
			end = float64(row.T)
		}
	}
	return end
}

// drawGaps labels the spans without readings.
func (v loadView) drawGaps(p pen) {
	letters := axisText
	letters.anchor = 0.5
	before := v.rows[0]
	for _, row := range v.rows[1:] {
		if math.IsNaN(float64(row.Volts)) {
			continue
		}
		if span := float64(row.T - before.T); span > v.longest {
			middle := (v.time.at(float64(row.T)) + v.time.at(float64(before.T))) / 2
			p.text(letters, point{middle, voltsBox.bottom + 6}, "no readings, "+number(span, 1)+" s")
		}
		before = row
	}
}

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
