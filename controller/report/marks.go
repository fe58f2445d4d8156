package report

import (
	"math"

	"anodized/controller/process"
	"anodized/controller/record"
)

// on tells whether the output was commanded on and not read back off.
func on(row record.Row) bool {
	state := process.State(row.State)
	return state == process.ContactCheck || state == process.Ramping || state == process.Holding
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
