package main

import (
	"image/color"
	"math"

	"anodized/controller/colour"
	"anodized/controller/plan"
	"anodized/controller/report"
	"anodized/controller/review"
	"anodized/hal/unit"
)

// swatchOf is a film on a surface as a screen shows it.
func swatchOf(surface *colour.Surface, d unit.Nanometres) report.Swatch {
	xyz := surface.XYZ(d)
	screen := surface.OnScreen(xyz)
	return report.Swatch{Name: xyz.Lab(surface.White()).LCh().Name(), Hex: screen.Hex(), Colour: shade(screen),
		Thickness: d, Beyond: !screen.InGamut}
}

func shade(s colour.Screen) color.NRGBA {
	return color.NRGBA{R: s.Red, G: s.Green, B: s.Blue, A: 255}
}

// wantedSwatch is the colour that the plan expects at its end. A plan that was
// never made has none.
func wantedSwatch(e plan.Expected) report.Swatch {
	screen, err := colour.ParseHex(e.Hex)
	if err != nil {
		return report.Swatch{}
	}
	return report.Swatch{Name: e.Name, Hex: e.Hex, Colour: shade(screen), Thickness: e.Thickness, Beyond: !e.InGamut}
}

// stopsOf are the colours that the film had, evenly over time.
func stopsOf(surface *colour.Surface, trace []review.Point) []report.Stop {
	every := max(1, (len(trace)+report.MostStops-1)/report.MostStops)
	var stops []report.Stop
	for i := 0; i < len(trace); i += every {
		if d := trace[i].ThicknessByVolts; !math.IsNaN(float64(d)) {
			stops = append(stops, report.Stop{T: trace[i].T, Colour: shade(surface.Screen(d))})
		}
	}
	return stops
}
