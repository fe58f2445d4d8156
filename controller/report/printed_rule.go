package report

import (
	"fmt"
	"math"
)

// volts is the scale of the rule, and whether there is more than one place on it.
func (v printedView) volts() (s scale, wide bool) {
	first, last := float64(v.Swatches[0].Volts), float64(v.Swatches[len(v.Swatches)-1].Volts)
	return scale{first, last, ruleBox.left, ruleBox.right, false}, last > first
}

// drawPrintedRule draws all colours as columns over volts, and the orders above them.
func (v printedView) drawPrintedRule(p pen) {
	s, wide := v.volts()
	if !wide {
		p.fill(ruleBox, v.Swatches[0].Colour)
		return
	}
	for i, swatch := range v.Swatches {
		left := s.start
		if i > 0 {
			left = s.at(float64(v.Swatches[i-1].Volts+swatch.Volts) / 2)
		}
		p.fill(box{left, ruleBox.bottom, ruleBox.right, ruleBox.top}, swatch.Colour)
	}
	letters := lettering{size: 8, ink: ink, anchor: 0.5}
	step := voltStep(s.high - s.low)
	for volts := step * math.Ceil(s.low/step); volts <= s.high+1e-9; volts += step {
		p.line(thinInk, point{s.at(volts), ruleBox.bottom}, point{s.at(volts), ruleBox.bottom - 4})
		p.text(letters, point{s.at(volts), ruleBox.bottom - 12}, number(volts, 1)+" V")
	}
	v.drawOrders(p, s)
}

// drawOrders brackets the stretches of one order.
func (v printedView) drawOrders(p pen, s scale) {
	letters := lettering{size: 7.5, ink: ink, anchor: 0.5}
	for from := 0; from < len(v.Swatches); {
		to := from
		for to+1 < len(v.Swatches) && v.Swatches[to+1].Order == v.Swatches[from].Order {
			to++
		}
		left, right := s.at(float64(v.Swatches[from].Volts)), s.at(float64(v.Swatches[to].Volts))
		if order := v.Swatches[from].Order; order > 0 && right > left+2 {
			y := ruleBox.top + 4
			p.line(thinInk, point{left + 1, y - 2}, point{left + 1, y}, point{right - 1, y}, point{right - 1, y - 2})
			if word := fmt.Sprintf("order %d", order); letters.width(word) < right-left {
				p.text(letters, point{(left + right) / 2, y + 3}, word)
			}
		}
		from = to + 1
	}
}

// drawLoose draws how far the volts may be off, over the same volts: high where the
// colour forgives.
func (v printedView) drawLoose(p pen) {
	s, wide := v.volts()
	most := 0.0
	var curve []point
	for _, swatch := range v.Swatches {
		most = math.Max(most, float64(swatch.Tolerance))
	}
	if !wide || most == 0 {
		return
	}
	up := scale{0, niceTop(most), looseBox.bottom, looseBox.top, false}
	for _, swatch := range v.Swatches {
		curve = append(curve, point{s.at(float64(swatch.Volts)), up.at(float64(swatch.Tolerance))})
	}
	p.line(hairLine, point{looseBox.left, looseBox.bottom}, point{looseBox.right, looseBox.bottom})
	p.line(stroke{width: 1, ink: ink}, curve...)
	letters := lettering{size: 7, ink: ink}
	p.text(letters, point{looseBox.left, looseBox.bottom - 9}, fmt.Sprintf("volts either way for dE00 1.0: the line; its highest ±%s V", number(most, 2)))
}
