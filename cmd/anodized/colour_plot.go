package main

import (
	"bytes"
	"fmt"
	"image/color"
	"io"
	"os"

	"anodized/controller/colour"
	"anodized/controller/report"
	"anodized/hal/unit"
)

// plot draws the colours, by rising volts, into a file; "" draws nothing.
func (b *colourBasis) plot(path string, views []colour.View) error {
	return b.drawInto("--plot", path, views, report.FormatOf, report.ColourChart)
}

// sheet draws the chart for the printer.
func (b *colourBasis) sheet(path string, views []colour.View) error {
	return b.drawInto("--sheet", path, views, report.SheetFormatOf, report.PrintedChart)
}

func (b *colourBasis) drawInto(flag, path string, views []colour.View,
	formatOf func(string) (report.Format, error), draw func(io.Writer, report.Format, report.Chart) error) error {
	if path == "" {
		return nil
	}
	format, err := formatOf(path)
	if err != nil {
		return badInput(err)
	}
	var picture bytes.Buffer
	if err := draw(&picture, format, b.picture(views)); err != nil {
		return badInput(err)
	}
	if err := os.WriteFile(path, picture.Bytes(), 0o644); err != nil {
		return badInput(fmt.Errorf("%s: %w", flag, err))
	}
	return nil
}

func (b *colourBasis) picture(views []colour.View) report.Chart {
	chart := report.Chart{
		Title:      b.metal.Name,
		Viewing:    fmt.Sprintf("%s, %s observer, %g degrees from square, specular", b.light.ID, observerName, b.looked.AngleDegrees),
		Provenance: b.calibration.ID + ": " + b.provenance() + ".", Simulated: b.calibration.Simulated,
		Book: b.calibration.Book, Indicative: b.metal.Indicative, Facts: b.facts(),
	}
	for _, v := range views {
		chart.Swatches = append(chart.Swatches, report.Swatch{
			Name: v.Name, Hex: v.Screen.Hex(), Thickness: v.Thickness, Volts: v.Volts,
			Colour:    color.NRGBA{R: v.Screen.Red, G: v.Screen.Green, B: v.Screen.Blue, A: 255},
			Tolerance: v.Tolerance.DE1, Beyond: !v.Screen.InGamut, Order: v.Order, Lab: v.Lab.Array(),
		})
	}
	return chart
}

// facts say of which bath a chart is, and when it was measured.
func (b *colourBasis) facts() []string {
	c := b.calibration
	facts := []string{
		"calibration: " + c.ID,
		"bath: " + or(c.Bath, "not said"),
		"date: " + or(c.Date, "none given"),
		"finish: " + or(c.Finish, "not said"),
		fmt.Sprintf("law: %.4g nm/V and %.3g nm", b.scale.NMPerVolt, float64(b.scale.Offset)),
		"end of the hold: " + unit.Format(b.end),
		fmt.Sprintf("volts known to ±%.1f V at 30 V, ±%.1f V at 90 V (1 sd)", b.voltsSD(30), b.voltsSD(90)),
		"film and metal: " + b.film.ID + " on " + b.substrate.ID,
	}
	if c.ToVolts > 0 {
		facts[0] += fmt.Sprintf(", coupons %s to %s", unit.Format(c.FromVolts), unit.Format(c.ToVolts))
	}
	return facts
}

// voltsSD is how well the calibration knows the volts of a film, as a standard
// deviation.
func (b *colourBasis) voltsSD(v unit.Volts) float64 {
	return float64(b.calibration.ThicknessSD(v)) / b.calibration.NMPerVolt
}
