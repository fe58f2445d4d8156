package main

import (
	"anodized/controller/choose"
	"anodized/controller/colour"
	"anodized/hal/unit"
)

type wantedAnswer struct {
	seenAs
	Wanted     wantedAs      `json:"wanted"`
	Reachable  bool          `json:"reachable"`
	Candidates []candidateAs `json:"candidates"`
	Flattest   *candidateAs  `json:"flattest"` // where the volts matter least near the wanted hue; null: nothing near
	Misses     []missAs      `json:"unreachable_because"`
}

type wantedAs struct {
	Lab  [3]float64 `json:"Lab"`
	Hex  string     `json:"hex,omitempty"`       // of a screen, as it was given
	Name string     `json:"name,omitempty"`      // as it was given
	Says string     `json:"taken_for,omitempty"` // what the name was taken for
}

type missAs struct {
	Code    string `json:"code"`
	Message string `json:"message"`
}

type candidateAs struct {
	Volts     unit.Volts      `json:"volts"`
	VoltsSD   float64         `json:"volts_sd"` // how well the calibration knows them
	Covered   bool            `json:"covered"`  // false: beyond what the calibration's coupons reach
	Thickness unit.Nanometres `json:"thickness_nm"`
	Order     int             `json:"order"`
	DE00      float64         `json:"de00"`
	Lab       [3]float64      `json:"Lab"`
	Hex       string          `json:"hex"`
	InGamut   bool            `json:"in_gamut"`
	Name      string          `json:"name"`
	PerVolt   float64         `json:"de00_per_volt"`
	Tolerance toleranceAs     `json:"tolerance_volts"`
	Alike     []alikeAs       `json:"look_alikes"`
	Lamps     []shiftAs       `json:"illuminants"`
	Tilts     []shiftAs       `json:"angles"`
}

// alikeAs is a film of other volts; de00 is to the candidate.
type alikeAs struct {
	Volts     unit.Volts      `json:"volts"`
	Thickness unit.Nanometres `json:"thickness_nm"`
	Order     int             `json:"order"`
	DE00      float64         `json:"de00"`
	Name      string          `json:"name"`
}

// shiftAs is a candidate seen in another way; de00 is to the candidate.
type shiftAs struct {
	Illuminant string     `json:"illuminant"`
	Angle      float64    `json:"angle_deg"`
	Lab        [3]float64 `json:"Lab"`
	Hex        string     `json:"hex"`
	Name       string     `json:"name"`
	DE00       float64    `json:"de00"`
	Hue        float64    `json:"hue_change_deg"`
	Renamed    bool       `json:"renamed"` // another colour in words, plainly
}

func (b *colourBasis) wantedAnswer(w wanted) wantedAnswer {
	c := w.choice
	answer := wantedAnswer{
		seenAs: b.seen(), Wanted: wantedAs{c.Wanted.Array(), w.hex, w.word.Name, w.word.Says},
		Reachable: c.Reachable, Candidates: make([]candidateAs, len(c.Candidates)), Misses: []missAs{},
	}
	for i, one := range c.Candidates {
		answer.Candidates[i] = b.candidate(one)
	}
	if c.Flattest != nil {
		flat := b.candidate(*c.Flattest)
		answer.Flattest = &flat
	}
	for _, miss := range c.Misses {
		answer.Misses = append(answer.Misses, missAs(miss))
	}
	return answer
}

func (b *colourBasis) candidate(c choose.Candidate) candidateAs {
	a := candidateAs{
		Volts: c.Volts, VoltsSD: b.voltsSD(c.Volts), Covered: b.calibration.Covers(c.Volts),
		Thickness: c.Thickness, Order: c.Order, DE00: c.DE00, Lab: c.Lab.Array(),
		Hex: c.Screen.Hex(), InGamut: c.Screen.InGamut, Name: c.Name, PerVolt: c.PerVolt, Tolerance: toleranceAs(c.Tolerance),
		Alike: alikes(c.Alike), Lamps: shifts(c.Lamps), Tilts: shifts(c.Tilts),
	}
	return a
}

func alikes(list []colour.Candidate) []alikeAs {
	found := make([]alikeAs, len(list))
	for i, c := range list {
		found[i] = alikeAs{c.Volts, c.Thickness, c.Order, c.DE00, c.Lab.LCh().Name()}
	}
	return found
}

func shifts(list []choose.Shift) []shiftAs {
	found := make([]shiftAs, len(list))
	for i, s := range list {
		found[i] = shiftAs{s.Illuminant, s.AngleDegrees, s.Lab.Array(), s.Screen.Hex(), s.Name, s.DE00, s.HueDegrees, s.Renamed}
	}
	return found
}
