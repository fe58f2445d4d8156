package profiles

import "anodized/hal/unit"

// LoadCheck is what a resistor on the output showed of the supply's meters, on one day.
type LoadCheck struct {
	Date      string      `json:"date"`
	Simulated bool        `json:"simulated"`
	Resistor  unit.Ohms   `json:"resistor_ohm"`
	Tolerance float64     `json:"tolerance_percent"` // of the resistor
	Power     float64     `json:"power_watts"`       // that the resistor may take
	Meter     string      `json:"meter"`             // the second one, as typed; "none"
	Points    []LoadPoint `json:"points"`
	Volts     *Line       `json:"volts,omitempty"` // against the second meter; nil without one
	Amperes   Line        `json:"amperes"`         // against volts over ohms
	Result    string      `json:"result"`          // good or bad
}

// LoadPoint is one voltage of the check: what was set, what the supply read, and what
// the second meter showed; Metered is nil without one.
type LoadPoint struct {
	Set     unit.Volts   `json:"set_volts"`
	Volts   unit.Volts   `json:"volts"`
	Amperes unit.Amperes `json:"amperes"`
	Metered *unit.Volts  `json:"metered_volts"`
}

// Line is how a reading stands to what is true: reading = gain times true plus offset.
type Line struct {
	Gain   float64 `json:"gain"`
	Offset float64 `json:"offset"` // V or A
}

// The results of a check.
const (
	CheckGood = "good"
	CheckBad  = "bad"
)
