package record

import (
	"time"

	"anodized/hal/unit"
	"anodized/profiles"
)

// KeptCalibration is a calibration as the journal keeps it, with what it was made from.
type KeptCalibration struct {
	SavedAt     time.Time                `json:"saved_at"` // wall clock, a label
	By          string                   `json:"by,omitempty"`
	Note        string                   `json:"note,omitempty"`
	Calibration profiles.Calibration     `json:"calibration"`
	Runs        []string                 `json:"runs,omitempty"`     // that coloured its coupons
	Readings    []profiles.ColourReading `json:"readings,omitempty"` // that it was fitted to
}

// KeptReading is a colour reading of a part that a run coloured. The part is named in
// the reading.
type KeptReading struct {
	SavedAt   time.Time              `json:"saved_at"`
	By        string                 `json:"by,omitempty"`
	Note      string                 `json:"note,omitempty"`
	Run       string                 `json:"run"`
	Simulated bool                   `json:"simulated"` // as the run is
	Reading   profiles.ColourReading `json:"reading"`
}

// AdoptedArea is a person's word that a rack's wetted area is the one that its good loads
// showed. It sets the end of later loads, and never their current limit.
type AdoptedArea struct {
	SavedAt     time.Time              `json:"saved_at"`
	By          string                 `json:"by"`
	Note        string                 `json:"note,omitempty"`
	Rack        string                 `json:"rack"`
	Declared    unit.SquareCentimetres `json:"declared_cm2"` // by the rack's drawing, then
	Area        unit.SquareCentimetres `json:"area_cm2"`     // what the loads showed
	SD          unit.SquareCentimetres `json:"sd_cm2"`       // of one load
	Loads       int                    `json:"loads"`
	Run         string                 `json:"run"` // the load that a person looked at
	Calibration string                 `json:"calibration"`
	Efficiency  float64                `json:"efficiency,omitempty"` // of that calibration; 0: it knew none, and the area is one over efficiency
	Simulated   bool                   `json:"simulated"`
	Withdrawn   bool                   `json:"withdrawn,omitempty"` // from here on the declared area counts again
}
