package record

import (
	"math"

	"anodized/hal/unit"
)

// Numbers are the numbers of a run as its estimators sum them up; not a number
// where not known. It has no name of its own, so that a summary with these very
// fields is one, and a record needs no estimator.
type Numbers = struct {
	EndVolts          unit.Volts
	HighestVolts      unit.Volts
	EndCurrent        unit.Amperes
	EndDensity        unit.CurrentDensity
	HoldSeconds       unit.Seconds
	RampSeconds       unit.Seconds
	EnergisedSeconds  unit.Seconds
	Charge            unit.Coulombs
	LiveArea          unit.SquareCentimetres
	ThicknessByVolts  unit.Nanometres
	ThicknessByCharge unit.Nanometres
	SeriesOhm         unit.Ohms
}

// Fill writes the numbers of a run into its result. The Station and the review of
// a recorded run both come here, so the same readings give the same numbers.
func (r *Result) Fill(n Numbers) {
	r.EndVolts, r.EndCurrent, r.EndDensity = Known(n.EndVolts), Known(n.EndCurrent), Known(n.EndDensity)
	r.HighestVolts = Known(n.HighestVolts)
	r.HoldSeconds, r.RampSeconds, r.EnergisedSeconds = Known(n.HoldSeconds), Known(n.RampSeconds), Known(n.EnergisedSeconds)
	r.Charge, r.LiveArea, r.SeriesOhm = Known(n.Charge), Known(n.LiveArea), Known(n.SeriesOhm)
	r.ThicknessByVolts, r.ThicknessByCharge = Known(n.ThicknessByVolts), Known(n.ThicknessByCharge)
}

// Known returns the bare number, or nil where it is not known or not finite.
func Known[Q unit.Quantity](q Q) *float64 {
	n := float64(q)
	if math.IsNaN(n) || math.IsInf(n, 0) {
		return nil
	}
	return &n
}
