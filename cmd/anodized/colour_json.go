package main

import (
	"fmt"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// observerName is the one observer there is.
const observerName = "CIE 1931 2 degree"

// seenAs says how colours are looked at and whose law gives the volts.
type seenAs struct {
	Metal       string        `json:"metal"`
	Film        string        `json:"film"`
	Substrate   string        `json:"substrate"`
	Illuminant  string        `json:"illuminant"`
	Observer    string        `json:"observer"`
	Angle       float64       `json:"angle_deg"`
	Indicative  bool          `json:"indicative"` // colours of this metal are a hint only
	Calibration calibrationAs `json:"calibration"`
}

// calibrationAs is a calibration at the end current density that was asked for.
type calibrationAs struct {
	ID         string              `json:"id"`
	NMPerVolt  float64             `json:"nm_per_volt"`
	Offset     unit.Nanometres     `json:"offset_nm"`
	End        unit.CurrentDensity `json:"end_current_density_ma_cm2"`
	Book       bool                `json:"book"`
	Simulated  bool                `json:"simulated"`
	Provenance string              `json:"provenance"`
}

type colourAnswer struct {
	seenAs
	Volts     *unit.Volts     `json:"volts"` // null: the film is thinner than that of 0 V
	Thickness unit.Nanometres `json:"thickness_nm"`
	XYZ       [3]float64      `json:"XYZ"`
	Lab       [3]float64      `json:"Lab"`
	LCh       [3]float64      `json:"LCh"`
	Hex       string          `json:"hex"`
	InGamut   bool            `json:"in_gamut"`
	Name      string          `json:"name"`
	Order     int             `json:"order"`
	PerVolt   float64         `json:"de00_per_volt"`
	Tolerance toleranceAs     `json:"tolerance_volts"`
	Spectrum  *spectrumAs     `json:"spectrum,omitempty"`
}

// spectrumAs is the share of light that comes back, unpolarised, by wavelength.
type spectrumAs struct {
	Wavelengths []unit.Nanometres `json:"wavelength_nm"`
	Reflectance []float64         `json:"reflectance"`
}

type toleranceAs struct {
	DE1 unit.Volts `json:"de00_1"`
	DE2 unit.Volts `json:"de00_2"`
}

type chartAnswer struct {
	seenAs
	Colours []colourAnswer `json:"colours"`
}

func (b *colourBasis) seen() seenAs {
	c := b.calibration
	return seenAs{
		Metal: b.metal.ID, Film: b.film.ID, Substrate: b.substrate.ID, Illuminant: b.light.ID,
		Observer: observerName, Angle: b.looked.AngleDegrees, Indicative: b.metal.Indicative,
		Calibration: calibrationAs{c.ID, b.scale.NMPerVolt, b.scale.Offset, b.end, c.Book, c.Simulated, b.provenance()},
	}
}

// provenance says whose law it is, and what was done to it since.
func (b *colourBasis) provenance() string {
	text := b.calibration.Provenance
	if b.end != b.calibration.EndCurrentDensity {
		text += fmt.Sprintf("; converted by the growth law from %.4g nm/V at %s",
			b.calibration.NMPerVolt, unit.Format(b.calibration.EndCurrentDensity))
	}
	if b.film.ID != b.calibration.Film || b.substrate.ID != b.calibration.Substrate {
		text += fmt.Sprintf("; made with %s on %s, so its volts do not quite fit the tables taken here",
			b.calibration.Film, b.calibration.Substrate)
	}
	return text
}

func (b *colourBasis) answer(v colour.View, spectrum bool) colourAnswer {
	a := colourAnswer{
		seenAs: b.seen(), Thickness: v.Thickness, XYZ: v.XYZ.Array(), Lab: v.Lab.Array(), LCh: v.LCh.Array(),
		Hex: v.Screen.Hex(), InGamut: v.Screen.InGamut, Name: v.Name, Order: v.Order, PerVolt: v.PerVolt,
		Tolerance: toleranceAs(v.Tolerance),
	}
	if v.Volts >= 0 {
		a.Volts = &v.Volts
	}
	if spectrum {
		a.Spectrum = &spectrumAs{}
		a.Spectrum.Wavelengths, a.Spectrum.Reflectance = b.surface.Spectrum(v.Thickness)
	}
	return a
}

func (b *colourBasis) chartAnswer(views []colour.View, spectrum bool) chartAnswer {
	answer := chartAnswer{seenAs: b.seen(), Colours: make([]colourAnswer, len(views))}
	for i, view := range views {
		answer.Colours[i] = b.answer(view, spectrum)
	}
	return answer
}
