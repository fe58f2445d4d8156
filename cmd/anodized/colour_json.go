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
}

type toleranceAs struct {
	DE1 unit.Volts `json:"de00_1"`
	DE2 unit.Volts `json:"de00_2"`
}

type chartAnswer struct {
	seenAs
	Colours []colourAnswer `json:"colours"`
}

type wantedAnswer struct {
	seenAs
	Wanted     wantedAs      `json:"wanted"`
	Reachable  bool          `json:"reachable"`
	Candidates []candidateAs `json:"candidates"`
}

type wantedAs struct {
	Lab [3]float64 `json:"Lab"`
	Hex string     `json:"hex,omitempty"` // as it was given
}

type candidateAs struct {
	Volts     unit.Volts      `json:"volts"`
	Thickness unit.Nanometres `json:"thickness_nm"`
	Order     int             `json:"order"`
	DE00      float64         `json:"de00"`
	Lab       [3]float64      `json:"Lab"`
	Hex       string          `json:"hex"`
	InGamut   bool            `json:"in_gamut"`
	Name      string          `json:"name"`
	Tolerance toleranceAs     `json:"tolerance_volts"`
}

func (b *colourBasis) seen() seenAs {
	c := b.calibration
	return seenAs{
		Metal: b.metal.ID, Film: b.film.ID, Substrate: b.substrate.ID, Illuminant: b.light.ID,
		Observer: observerName, Angle: b.angle, Indicative: b.metal.Indicative,
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

func (b *colourBasis) answer(v colour.View) colourAnswer {
	a := colourAnswer{
		seenAs: b.seen(), Thickness: v.Thickness, XYZ: v.XYZ.Array(), Lab: v.Lab.Array(), LCh: v.LCh.Array(),
		Hex: v.Screen.Hex(), InGamut: v.Screen.InGamut, Name: v.Name, Order: v.Order, PerVolt: v.PerVolt,
		Tolerance: toleranceAs(v.Tolerance),
	}
	if v.Volts >= 0 {
		a.Volts = &v.Volts
	}
	return a
}

func (b *colourBasis) chartAnswer(views []colour.View) chartAnswer {
	answer := chartAnswer{seenAs: b.seen(), Colours: make([]colourAnswer, len(views))}
	for i, view := range views {
		answer.Colours[i] = b.answer(view)
	}
	return answer
}

func (b *colourBasis) wantedAnswer(want colour.Lab, hex string, found []colour.Candidate) wantedAnswer {
	answer := wantedAnswer{
		seenAs: b.seen(), Wanted: wantedAs{want.Array(), hex},
		Reachable: found[0].DE00 <= reachableDE00, Candidates: make([]candidateAs, len(found)),
	}
	for i, c := range found {
		answer.Candidates[i] = candidateAs{
			Volts: c.Volts, Thickness: c.Thickness, Order: c.Order, DE00: c.DE00, Lab: c.Lab.Array(),
			Hex: c.Screen.Hex(), InGamut: c.Screen.InGamut, Name: c.Lab.LCh().Name(),
			Tolerance: toleranceAs(b.surface.Tolerance(b.scale, c.Volts)),
		}
	}
	return answer
}
