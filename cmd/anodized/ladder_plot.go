package main

import (
	"bytes"
	"fmt"
	"image/color"
	"os"

	"anodized/controller/calibrate"
	"anodized/controller/colour"
	"anodized/controller/report"
	"anodized/hal/unit"
)

// fittedSteps is how many colours of the fit the picture shows.
const fittedSteps = 240

// plot draws the fit into a file; "" draws nothing.
func (w *ladderFit) plot() error {
	path := w.flags.plot
	if path == "" {
		return nil
	}
	format, err := report.FormatOf(path)
	if err != nil {
		return badInput(err)
	}
	c := w.calibration
	if w.fit.ScaleFitted {
		c.IndexScale = w.fit.IndexScale
	}
	surface, err := surfaceOf(c)
	if err != nil {
		return badInput(err)
	}
	var drawn bytes.Buffer
	if err := report.DrawLadder(&drawn, format, w.picture(surface)); err != nil {
		return badInput(err)
	}
	if err := os.WriteFile(path, drawn.Bytes(), 0o644); err != nil {
		return badInput(fmt.Errorf("--plot: %w", err))
	}
	return nil
}

func (w *ladderFit) picture(s *colour.Surface) report.LadderFit {
	fit, c := &w.fit, w.calibration
	out := report.LadderFit{
		Title: "Ladder " + c.ID, Simulated: c.Simulated, Provenance: c.Provenance + "; D65, 2 degree observer, square to the light.",
		Subtitle: fmt.Sprintf("%s · %.4f ± %.4f nm/V · %.2f ± %.2f nm · end %s · ΔE00 %.2f in the mean", w.metal.Name, fit.NMPerVolt, fit.NMPerVoltSD, float64(fit.Offset), float64(fit.OffsetSD), unit.Format(c.EndCurrentDensity), fit.RMS),
		Facts:    w.facts(),
	}
	from, to := fit.Readings[0].AtEnd, fit.Readings[0].AtEnd
	for _, r := range fit.Readings {
		from, to = min(from, r.AtEnd), max(to, r.AtEnd)
		out.Coupons = append(out.Coupons, couponOf(s, r))
	}
	from, to = max(0, from-2), to+2
	for i := range fittedSteps + 1 {
		v := from + (to-from)*unit.Volts(i)/fittedSteps
		seen := s.Screen(fit.Film(v))
		out.Fitted = append(out.Fitted, report.Swatch{Volts: v, Thickness: fit.Film(v), Hex: seen.Hex(), Colour: inkOf(seen), Beyond: !seen.InGamut})
	}
	return out
}

func inkOf(s colour.Screen) color.NRGBA {
	return color.NRGBA{R: s.Red, G: s.Green, B: s.Blue, A: 255}
}

func couponOf(s *colour.Surface, r calibrate.Judged) report.LadderCoupon {
	screen := func(c colour.Lab) color.NRGBA { return inkOf(s.OnScreen(c.XYZ(s.White()))) }
	measured, expected := r.Lab.Array(), r.Expected.Array()
	coupon := report.LadderCoupon{Volts: r.AtEnd, Measured: screen(r.Lab), Expected: screen(r.Expected), DE00: r.DE00, Wrong: r.Wrong}
	for i := range coupon.Off {
		coupon.Off[i] = measured[i] - expected[i]
	}
	return coupon
}

// facts are verdict, what was left out, and why the verdict is no better.
func (w *ladderFit) facts() []string {
	facts := []string{"Verdict: " + string(w.fit.Verdict)}
	for _, r := range w.fit.Readings {
		if r.Wrong {
			facts = append(facts, fmt.Sprintf("The reading at %.4g V is left out: %s.", float64(r.Volts), r.WhatToSay))
		}
	}
	return append(facts, w.fit.Reasons...)
}
