package review

import (
	"anodized/controller/fault"
	"anodized/controller/record"
)

// Review is what a curve says. Its JSON is what `review --json` prints.
type Review struct {
	Run        string          `json:"run,omitempty"` // "" for a curve from elsewhere
	Simulated  bool            `json:"simulated"`
	Ended      Ended           `json:"ended"`
	Verdict    Verdict         `json:"verdict"`
	Usable     Usable          `json:"usable"`
	Estimates  Estimates       `json:"estimates"`
	Findings   []fault.Finding `json:"findings"`
	Causes     []Cause         `json:"causes"`
	CannotShow []string        `json:"cannot_show"`
	Assumed    []string        `json:"assumed,omitempty"`             // what was not known of the curve
	Differs    []string        `json:"differs_from_record,omitempty"` // numbers of the result line that come out otherwise now
	Trace      []Point         `json:"-"`                             // the estimates over time
}

// Ended is how the run ended.
type Ended struct {
	Outcome record.Outcome `json:"outcome"`
	ByEye   bool           `json:"by_eye,omitempty"`
	Trip    *record.Trip   `json:"trip"`
	Why     string         `json:"why"`
}

// Electrical is the verdict on the curve.
type Electrical string

// The electrical verdicts.
const (
	Clean   Electrical = "clean"
	Warning Electrical = "warning" // somebody should look
	Fault   Electrical = "fault"   // the result is not what was planned
	Unknown Electrical = "unknown" // the curve is not usable, or the run goes on
)

// Verdict keeps the electrical verdict and the colour apart.
type Verdict struct {
	Electrical Electrical `json:"electrical"`
	Colour     string     `json:"colour"` // unknown: no reading of the parts
}

// Usable says whether the curve can be judged, and if not, why.
type Usable struct {
	OK         bool     `json:"ok"`
	Why        []string `json:"why"`
	Rate       *float64 `json:"readings_per_second"`
	Gaps       int      `json:"gaps"`
	GapSeconds float64  `json:"gap_seconds"`
	Zero       *float64 `json:"zero_amperes"` // mean with the output off; null where the curve has none
}

// Estimates are the numbers of the curve. Null where not known.
type Estimates struct {
	DeclaredArea      *float64 `json:"declared_area_cm2"`
	LiveArea          *float64 `json:"live_area_cm2"`
	SeriesOhm         *float64 `json:"series_ohm"`
	OnsetVolts        *float64 `json:"onset_volts"`
	Leak              *float64 `json:"leak_amperes"`
	Charge            *float64 `json:"charge_coulombs"`
	ThicknessByVolts  *float64 `json:"thickness_by_volts_nm"`
	ThicknessByCharge *float64 `json:"thickness_by_charge_nm"`
	EndVolts          *float64 `json:"end_volts"`
	HighestVolts      *float64 `json:"highest_volts"` // of the film: what the parts are formed to
	EndCurrent        *float64 `json:"end_current_amperes"`
	EndDensity        *float64 `json:"end_current_density_ma_cm2"`
	RampSeconds       *float64 `json:"ramp_seconds"`
	HoldSeconds       *float64 `json:"hold_seconds"`
	EnergisedSeconds  *float64 `json:"energised_seconds"`
}

// Cause is one ranked cause of a bad colour.
type Cause struct {
	Code       string   `json:"code"`
	Likelihood string   `json:"likelihood"`
	For        []string `json:"for"`
	Against    []string `json:"against"`
}
