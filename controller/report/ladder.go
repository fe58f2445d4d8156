package report

import (
	"fmt"
	"image/color"
	"io"
	"math"
	"strings"

	"anodized/hal/unit"
)

// LadderFit is a fitted ladder of coupons as a picture: the colours that the fit
// expects over the volts, the coupons' own beside them, and how far they are apart.
type LadderFit struct {
	Title      string
	Subtitle   string   // the numbers
	Provenance string   // where they come from; a fit is never shown without it
	Facts      []string // verdict, reasons and what was left out
	Simulated  bool
	Fitted     []Swatch // the fit over the range, by rising volts
	Coupons    []LadderCoupon
}

// LadderCoupon is a coupon beside the fit.
type LadderCoupon struct {
	Volts              unit.Volts
	Measured, Expected color.Color
	Off                [3]float64 // measured less expected, L*, a*, b*
	DE00               float64
	Wrong              bool // named, and not used
}

// DrawLadder draws a fitted ladder. It returns [ErrNoColours], [ErrNoProvenance],
// [ErrNotRising], [ErrFormat], or what the writer returned.
func DrawLadder(w io.Writer, format Format, l LadderFit) error {
	check := Chart{Title: l.Title, Provenance: l.Provenance, Swatches: l.Fitted}
	err := check.check()
	if err == nil && len(l.Coupons) == 0 {
		err = ErrNoColours
	}
	if err != nil {
		return fmt.Errorf("draw ladder %s: %w", l.Title, err)
	}
	title := l.Title
	if l.Simulated {
		title = "SIMULATED " + title
	}
	return sheet{title, sheetWidth, sheetHeight, ladderView{l}.draw}.write(w, format)
}

type ladderView struct{ LadderFit }

// The lanes of the picture, in points.
var (
	ladderCard   = box{28, 300, sheetWidth - 28, 510}
	ladderRule   = box{78, 440, sheetWidth - 48, 490}
	residualLane = box{78, 130, sheetWidth - 48, 280}
)

const couponWidth = 22.0

func (v ladderView) draw(p pen) {
	p.text(lettering{size: 22, bold: true, ink: ink}, point{28, 556}, v.Title)
	sub := lettering{size: 10.5, ink: ink2}
	p.text(sub, point{28, 534}, sub.shorten(v.Subtitle, sheetWidth-220))
	p.fill(ladderCard, card)
	s := v.volts()
	chartView{Chart: Chart{Swatches: v.Fitted}, every: 1}.drawRule(p, ladderRule)
	v.drawCoupons(p, s)
	v.drawResiduals(p, s)
	v.drawFacts(p)
	if v.Simulated {
		drawSimulated(p, point{sheetWidth - 28 - 78, 540})
	}
}

func (v ladderView) volts() scale {
	return scale{float64(v.Fitted[0].Volts), float64(v.Fitted[len(v.Fitted)-1].Volts), ladderRule.left, ladderRule.right, false}
}

// drawCoupons draws each coupon at its volts: its own colour above, what is expected of
// it below. Those that would cover each other stand in two rows.
func (v ladderView) drawCoupons(p pen, s scale) {
	letters := lettering{size: 8, ink: ink, anchor: 1}
	last, row := math.Inf(-1), 0
	for _, c := range v.Coupons {
		x := s.at(float64(c.Volts))
		if row = 1 - row; x-last > couponWidth+6 {
			row = 0
		}
		last = x
		top := 404 - 50*float64(row)
		p.line(thinInk, point{x, ladderRule.bottom - 18}, point{x, top})
		p.fill(box{x - couponWidth/2, top - 20, x + couponWidth/2, top}, c.Measured)
		p.fill(box{x - couponWidth/2, top - 40, x + couponWidth/2, top - 20}, c.Expected)
		if c.Wrong {
			p.line(stroke{width: 1.6, ink: ink}, point{x - couponWidth/2, top - 40}, point{x + couponWidth/2, top})
			p.line(stroke{width: 1.6, ink: ink}, point{x - couponWidth/2, top}, point{x + couponWidth/2, top - 40})
		}
	}
	p.text(letters, point{72, 391}, "coupon")
	p.text(letters, point{72, 371}, "expected")
}

// drawResiduals draws what is left of each coupon: L* as a square, a* as a disc, b* as a
// triangle, on one scale.
func (v ladderView) drawResiduals(p pen, s scale) {
	most := niceTop(math.Max(1, v.largestOff()))
	y := scale{-most, most, residualLane.bottom, residualLane.top, false}
	p.frame(residualLane, stroke{width: 0.6, ink: hair})
	letters := lettering{size: 8.5, ink: ink, anchor: 1}
	for _, value := range []float64{-most, -most / 2, 0, most / 2, most} {
		p.line(stroke{width: 0.4, ink: hair}, point{residualLane.left, y.at(value)}, point{residualLane.right, y.at(value)})
		p.text(letters, point{residualLane.left - 6, y.at(value) - 3}, number(value, 2))
	}
	p.upright(lettering{size: 9, ink: ink}, point{42, (residualLane.bottom + residualLane.top) / 2}, "measured less fit")
	for _, c := range v.Coupons {
		x := s.at(float64(c.Volts))
		for axis, off := range c.Off {
			drawOff(p, point{x + 5*float64(axis-1), y.at(off)}, axis, c.Wrong)
		}
		words := number(c.DE00, 1)
		if c.Wrong {
			words += " wrong"
		}
		p.text(lettering{size: 7.5, ink: ink, anchor: 0.5}, point{x, residualLane.bottom - 10}, words)
	}
	p.text(lettering{size: 8.5, ink: ink}, point{residualLane.left, residualLane.top + 5}, "■ L*   ● a*   ▲ b*   below each: CIEDE2000. What is wrong may lie beyond the scale.")
}

// largestOff is of the coupons that are used, unless there are none.
func (v ladderView) largestOff() (most float64) {
	for _, c := range v.Coupons {
		for _, off := range c.Off {
			if !c.Wrong {
				most = math.Max(most, math.Abs(off))
			}
		}
	}
	return most
}

func drawOff(p pen, at point, axis int, wrong bool) {
	var tint color.Color = ink
	if wrong {
		tint = hair
	}
	const r = 2.6
	switch axis {
	case 0:
		p.fill(box{at.x - r, at.y - r, at.x + r, at.y + r}, tint)
	case 1:
		p.disc(at, r, tint)
	default:
		p.polygon(tint, point{at.x - r, at.y - r}, point{at.x + r, at.y - r}, point{at.x, at.y + r})
	}
}

func (v ladderView) drawFacts(p pen) {
	y := 100.0
	for _, fact := range v.Facts {
		for _, line := range bodyText.wrap(fact, sheetWidth-56, 2) {
			if y < 42 {
				return
			}
			p.text(bodyText, point{28, y}, line)
			y -= 11.5
		}
	}
	caption := lettering{size: 8.5, ink: ink2}
	words := strings.TrimSpace(v.Provenance + " Screen colours orient, readings decide.")
	for i, line := range caption.wrap(words, sheetWidth-56, 2) {
		p.text(caption, point{28, 27 - 11*float64(i)}, line)
	}
}
