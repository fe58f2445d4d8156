package report

import (
	"math"

	"anodized/controller/record"
)

// The places of the sheet of a load, in points.
var (
	cardBox      = box{28, 150, 814, 518}
	fieldBox     = box{40, 160, 186, 508}
	laneLeft     = 240.0
	laneRight    = 756.0
	stageLine    = 504.0
	findingLine  = 488.0
	voltsBox     = box{laneLeft, 352, laneRight, 474}
	densityBox   = box{laneLeft, 266, laneRight, 336}
	thicknessBox = box{laneLeft, 194, laneRight, 252}
)

var (
	axisText = lettering{size: 8.5, ink: ink}
	bodyText = lettering{size: 9, ink: ink}
	boldText = lettering{size: 9, bold: true, ink: ink}
	thinInk  = stroke{width: 0.5, ink: ink}
	hairLine = stroke{width: 0.5, ink: hair}
	curveInk = stroke{width: 1.4, ink: ink}
	casing   = stroke{width: 3.4, ink: card}
	dotted   = stroke{width: 1, ink: ink, dashes: []float64{1, 2.2}}
	dashed   = stroke{width: 1.1, ink: ink, dashes: []float64{6, 3}}
)

// loadView is a load with its rows cut to the run and its scales worked out.
type loadView struct {
	Load
	rows      []record.Row
	longest   float64 // seconds; a longer step between rows is a gap
	time      scale
	volts     scale
	density   scale
	thickness scale
}

func newLoadView(l Load) loadView {
	v := loadView{Load: l, rows: energised(l.Rows)}
	v.longest = longestStep(v.rows)
	v.time = scale{0, timeTop(v.lastSecond()), laneLeft, laneRight, false}
	v.volts = scale{0, v.topVolts(), voltsBox.bottom, voltsBox.top, false}
	low, high := v.densityRange()
	v.density = scale{low, high, densityBox.bottom, densityBox.top, true}
	v.thickness = scale{0, v.topThickness(), thicknessBox.bottom, thicknessBox.top, false}
	return v
}

func (v loadView) lastSecond() float64 { return float64(v.rows[len(v.rows)-1].T) }

// topVolts is the ceiling, or what was measured where that is higher.
func (v loadView) topVolts() float64 {
	top := math.Max(float64(v.Plan.CeilingVolts), float64(v.Plan.TargetVolts))
	return math.Max(math.Max(top, highest(voltsOf(v.rows))), 1)
}

// densityRange goes from below the end criterion to above the limit.
func (v loadView) densityRange() (low, high float64) {
	limit, end := float64(v.Plan.CurrentDensity), float64(v.Plan.End.CurrentDensity)
	if !(limit > 0) {
		limit = math.Max(highest(densityOf(v.rows, v.Plan.Area)), 0.1)
	}
	low, high = limit/100, limit*2
	if end > 0 {
		low = end / 2.5
	}
	if low >= high/10 {
		low = high / 10
	}
	return low, high
}

func (v loadView) topThickness() float64 {
	top := float64(v.Wanted.Thickness) * 1.08
	for _, point := range v.Film {
		for _, nm := range []float64{float64(point.ByVolts), float64(point.ByCharge)} {
			if nm > top {
				top = nm
			}
		}
	}
	return niceTop(top)
}

func (v loadView) draw(p pen) {
	p.fill(cardBox, card)
	v.drawHeader(p)
	v.drawField(p)
	v.drawTimeAxis(p)
	v.drawVolts(p)
	v.drawDensity(p)
	v.drawThickness(p)
	v.drawGaps(p)
	v.drawStages(p)
	v.drawFindings(p)
	v.drawRegulation(p)
	v.drawNotes(p)
	if v.Simulated {
		drawSimulated(p, point{voltsBox.left + 8, voltsBox.top - 18})
	}
}

// simulatedMark is on every picture of what was not a real bench.
const simulatedMark = "SIMULATED"

// drawSimulated sets the word in a box on a plate of its own.
func drawSimulated(p pen, at point) {
	drawMark(p, point{at.x + markWidth(simulatedMark), at.y}, simulatedMark)
}

var markLetters = lettering{size: 9, bold: true, ink: ink}

func markWidth(word string) float64 { return markLetters.width(word) + 12 }

// drawMark sets a word in a box on a plate of its own, by its lower right corner.
func drawMark(p pen, at point, word string) {
	plate := box{at.x - markWidth(word), at.y, at.x, at.y + 14}
	p.fill(plate, card)
	p.frame(plate, stroke{width: 1.2, ink: ink})
	p.text(markLetters, point{plate.left + 6, at.y + 3.8}, word)
}

// drawMarks sets words in boxes side by side, the last one ending at a place.
func drawMarks(p pen, at point, words []string) {
	for i := len(words) - 1; i >= 0; i-- {
		drawMark(p, at, words[i])
		at.x -= markWidth(words[i]) + 6
	}
}

// plot turns a piece of a curve into places on the sheet.
func (v loadView) plot(piece []sample, s scale) []point {
	column := (v.time.high - v.time.low) / (laneRight - laneLeft) // a point
	thinned := thin(piece, column)
	out := make([]point, len(thinned))
	for i, one := range thinned {
		out[i] = point{v.time.at(one.t), s.at(one.value)}
	}
	return out
}

func (v loadView) drawCurve(p pen, samples []sample, s scale, styles ...stroke) {
	for _, style := range styles {
		for _, piece := range pieces(samples, v.longest) {
			p.line(style, v.plot(piece, s)...)
		}
	}
}
