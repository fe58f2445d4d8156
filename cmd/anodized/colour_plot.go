package main

import (
	"bytes"
	"fmt"
	"image/color"
	"os"
	"slices"

	"anodized/controller/colour"
	"anodized/controller/report"
)

// plot draws the colours, by rising volts, into a file; "" draws nothing.
func (b *colourBasis) plot(path string, views []colour.View) error {
	if path == "" {
		return nil
	}
	format, err := report.FormatOf(path)
	if err != nil {
		return badInput(err)
	}
	var picture bytes.Buffer
	if err := report.ColourChart(&picture, format, b.picture(views)); err != nil {
		return badInput(err)
	}
	if err := os.WriteFile(path, picture.Bytes(), 0o644); err != nil {
		return badInput(fmt.Errorf("--plot: %w", err))
	}
	return nil
}

func (b *colourBasis) picture(views []colour.View) report.Chart {
	chart := report.Chart{
		Title:      b.metal.Name,
		Viewing:    fmt.Sprintf("%s, %s observer, %g degrees from square, specular", b.light.ID, observerName, b.angle),
		Provenance: b.calibration.ID + ": " + b.provenance(), Simulated: b.calibration.Simulated,
	}
	for _, v := range views {
		chart.Swatches = append(chart.Swatches, report.Swatch{
			Name: v.Name, Hex: v.Screen.Hex(), Thickness: v.Thickness, Volts: v.Volts,
			Colour:    color.NRGBA{R: v.Screen.Red, G: v.Screen.Green, B: v.Screen.Blue, A: 255},
			Tolerance: v.Tolerance.DE1, Beyond: !v.Screen.InGamut,
		})
	}
	return chart
}

// byVolts are the views of candidates, by rising volts.
func (b *colourBasis) byVolts(found []colour.Candidate) []colour.View {
	views := make([]colour.View, len(found))
	for i, c := range found {
		views[i] = b.surface.At(b.scale, c.Volts)
	}
	slices.SortFunc(views, func(one, two colour.View) int {
		if one.Volts < two.Volts {
			return -1
		}
		return 1
	})
	return views
}
