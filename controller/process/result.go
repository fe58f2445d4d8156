package process

import (
	"math"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// Fill writes the numbers of a run into its result. The Station and the review of
// a recorded run both come here, so the same readings give the same numbers.
func Fill(r *record.Result, s Summary) {
	r.EndVolts, r.EndCurrent, r.EndDensity = Known(s.EndVolts), Known(s.EndCurrent), Known(s.EndDensity)
	r.HoldSeconds, r.RampSeconds, r.EnergisedSeconds = Known(s.HoldSeconds), Known(s.RampSeconds), Known(s.EnergisedSeconds)
	r.Charge, r.LiveArea, r.SeriesOhm = Known(s.Charge), Known(s.LiveArea), Known(s.SeriesOhm)
	r.ThicknessByVolts, r.ThicknessByCharge = Known(s.ThicknessByVolts), Known(s.ThicknessByCharge)
}

// Known returns the bare number, or nil where it is not known or not finite.
func Known[Q unit.Quantity](q Q) *float64 {
	n := float64(q)
	if math.IsNaN(n) || math.IsInf(n, 0) {
		return nil
	}
	return &n
}
