package main

import (
	"fmt"

	"anodized/controller/colour"
	"anodized/controller/report/terminal"
	"anodized/hal/unit"
)

// swatch is a patch of a colour, for a terminal that has colours.
func swatch(e env, s colour.Screen) painted {
	if !e.terminal || terminal.ModeOf(e.getenv) == terminal.Mono {
		return ""
	}
	return painted(fmt.Sprintf("  \x1b[48;2;%d;%d;%dm      \x1b[0m", s.Red, s.Green, s.Blue))
}

// onScreen is the screen's colour, with what it is worth.
func onScreen(e env, s colour.Screen) painted {
	text := painted(s.Hex()) + swatch(e, s)
	if !s.InGamut {
		text += "  outside the screen's gamut, shown clipped"
	}
	return text
}

// printSeen says what was looked at, and how.
func (b *colourBasis) printSeen(t *table) {
	t.row("%s: %s on %s", b.metal.Name, b.film.ID, b.substrate.ID)
	t.row("%s, %s observer, %g degrees from square, specular", b.light.ID, observerName, b.looked.AngleDegrees)
	if b.metal.Indicative {
		t.row("INDICATIVE: the tables for this metal are a hint only")
	}
}

// printProvenance closes every answer: no colour goes without it.
func (b *colourBasis) printProvenance(t *table) {
	kind := "measured"
	switch {
	case b.calibration.Simulated:
		kind = "SIMULATED"
	case b.calibration.Book:
		kind = "book, not measured in this bath"
	}
	t.row("calibration %s (%s)", b.calibration.ID, kind)
	t.row("  %.4g nm/V and %.4g nm, for an end at %s", b.scale.NMPerVolt, float64(b.scale.Offset), unit.Format(b.end))
	t.row("  %s", b.provenance())
}

func (b *colourBasis) printOne(e env, v colour.View, spectrum *spectrumAs) error {
	t := newTable(e.stdout)
	b.printSeen(t)
	t.row("")
	t.row("colour\t%s, order %d", v.Name, v.Order)
	if v.Volts >= 0 {
		t.row("volts\t%.2f V", float64(v.Volts))
	} else {
		t.row("volts\tnone: at 0 V the film is %.2f nm already", float64(b.scale.Offset))
	}
	t.row("film\t%.2f nm", float64(v.Thickness))
	t.row("screen\t%s", onScreen(e, v.Screen))
	t.row("L* a* b*\t%.2f  %.2f  %.2f", v.Lab.L, v.Lab.A, v.Lab.B)
	t.row("C* h\t%.2f  %.1f degrees", v.LCh.C, v.LCh.H)
	t.row("X Y Z\t%.3f  %.3f  %.3f", v.XYZ.X, v.XYZ.Y, v.XYZ.Z)
	t.row("by the volt\tCIEDE2000 %.2f", v.PerVolt)
	t.row("tolerance\t+- %.2f V for CIEDE2000 1, +- %.2f V for 2", float64(v.Tolerance.DE1), float64(v.Tolerance.DE2))
	if spectrum != nil {
		t.row("")
		t.row("nm\treflectance")
		for i, wavelength := range spectrum.Wavelengths {
			t.row("%g\t%.4f", float64(wavelength), spectrum.Reflectance[i])
		}
	}
	t.row("")
	b.printProvenance(t)
	return t.done()
}

func (b *colourBasis) printChart(e env, views []colour.View) error {
	t := newTable(e.stdout)
	b.printSeen(t)
	t.row("")
	t.row("V\tnm\tL*\ta*\tb*\tdE00/V\t+- V\tcolour\tscreen")
	for _, v := range views {
		t.row("%.4g\t%.1f\t%.1f\t%.1f\t%.1f\t%.1f\t%.2f\t%s\t%s", float64(v.Volts), float64(v.Thickness),
			v.Lab.L, v.Lab.A, v.Lab.B, v.PerVolt, float64(v.Tolerance.DE1), v.Name, onScreen(e, v.Screen))
	}
	t.row("")
	t.row("+- V is the tolerance for CIEDE2000 1")
	b.printProvenance(t)
	return t.done()
}
