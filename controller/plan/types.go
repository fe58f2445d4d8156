package plan

import (
	"anodized/hal/unit"
	"anodized/profiles"
)

// Plan is every number of a run. Its JSON is what `plan --json` prints and what
// the journal freezes.
type Plan struct {
	ID             string                 `json:"plan_id"` // hash of the content below
	Profile        string                 `json:"profile"`
	Rack           string                 `json:"rack"`
	Metal          string                 `json:"metal"`
	Bath           string                 `json:"bath"`
	Area           unit.SquareCentimetres `json:"area_cm2"`
	Parts          int                    `json:"parts"`             // how many parts hang; contact watch needs it
	LargestPart    unit.SquareCentimetres `json:"largest_part_cm2"`  // wetted area of the largest single part
	SmallestPart   unit.SquareCentimetres `json:"smallest_part_cm2"` // wetted area of the smallest single part
	TargetVolts    unit.Volts             `json:"target_volts"`      // of the last stage
	CeilingVolts   unit.Volts             `json:"ceiling_volts"`     // never exceeded
	CurrentLimit   unit.Amperes           `json:"current_limit_amperes"`
	CurrentDensity unit.CurrentDensity    `json:"current_density_ma_cm2"`
	Ramp           unit.VoltsPerSecond    `json:"ramp_volts_per_second"`
	End            End                    `json:"end"`
	Expected       Expected               `json:"expected"`
	Calibration    Calibration            `json:"calibration"`
	Choice         *Choice                `json:"calibration_choice,omitempty"`
	ContactCheck   ContactCheck           `json:"contact_check"`
	Law            Law                    `json:"law"`
	Stages         []Stage                `json:"stages"`
	BathWindow     BathWindow             `json:"bath_window"`
	Simulated      bool                   `json:"simulated"`        // for the virtual bench, or from a simulated calibration
	Watch          profiles.Watch         `json:"watch,omitzero"`   // thresholds that the profile moved
	History        History                `json:"history,omitzero"` // of this rack
	Learned        *Learned               `json:"learned_area,omitempty"`
	Job            *Job                   `json:"job,omitempty"` // where this is one run of several
	Warnings       []Warning              `json:"warnings"`
}

// End is an end criterion with its current worked out. Where TimeSeconds is above
// zero the stage is a timed hold and the densities are for information.
type End struct {
	CurrentDensity unit.CurrentDensity `json:"current_density_ma_cm2"`
	Current        unit.Amperes        `json:"current_amperes"` // on the declared area
	Sustained      unit.Seconds        `json:"sustained_seconds"`
	LeastHold      unit.Seconds        `json:"least_hold_seconds"`
	LongestHold    unit.Seconds        `json:"longest_hold_seconds"`
	Time           unit.Seconds        `json:"time_seconds,omitempty"`
}

// Stage is one ramp and hold.
type Stage struct {
	Name         string              `json:"name"`
	TargetVolts  unit.Volts          `json:"target_volts"`
	Ramp         unit.VoltsPerSecond `json:"ramp_volts_per_second"`
	CurrentLimit unit.Amperes        `json:"current_limit_amperes"`
	LongestRamp  unit.Seconds        `json:"longest_ramp_seconds"` // then: time-ran-out
	End          End                 `json:"end"`
}

// ContactCheck is the slow ramp before the work, where a mistake costs nothing.
type ContactCheck struct {
	Volts        unit.Volts          `json:"volts"`
	Ramp         unit.VoltsPerSecond `json:"ramp_volts_per_second"`
	NoContact    unit.Amperes        `json:"no_contact_amperes"` // below it nothing useful hangs
	FormedVolts  unit.Volts          `json:"formed_to_volts"`    // no current is expected below these
	LongestCheck unit.Seconds        `json:"longest_seconds"`
}

// Expected is what the run should show at its end.
type Expected struct {
	Thickness     unit.Nanometres     `json:"thickness_nm"`
	ThicknessSD   unit.Nanometres     `json:"thickness_nm_sd"` // how well the calibration knows it, converted to this end and bath
	VoltsSD       unit.Volts          `json:"volts_sd"`        // the same as volts
	DE00SD        float64             `json:"de00_sd"`         // the same as a colour difference, by the slope of the colour
	NMPerVolt     float64             `json:"nm_per_volt"`     // converted
	NMPerVoltSD   float64             `json:"nm_per_volt_sd"`
	Lab           [3]float64          `json:"Lab"`
	Hex           string              `json:"hex"`
	InGamut       bool                `json:"in_gamut"`
	Name          string              `json:"name"`
	Tolerance     Tolerance           `json:"tolerance_volts"`
	CheckSeconds  unit.Seconds        `json:"contact_check_seconds"` // to the contact check's volts
	RampSeconds   unit.Seconds        `json:"ramp_seconds"`          // from the first energised second to the target, contact check included
	HoldSeconds   unit.Seconds        `json:"hold_seconds"`
	RampCurrent   unit.Amperes        `json:"ramp_current_amperes"`
	RampDensity   unit.CurrentDensity `json:"ramp_current_density_ma_cm2"`
	Charge        unit.Coulombs       `json:"charge_coulombs"`
	HydrogenML    float64             `json:"hydrogen_ml"`
	HeatKJ        float64             `json:"heat_kj"`
	Outcome       string              `json:"outcome"` // complete, or time-ran-out where the plan can tell beforehand
	LimitedByAmps bool                `json:"limited_by_current"`
}

// Tolerance is half the window of volts in which the colour stays within a
// difference, as the surface's own slope says.
type Tolerance struct {
	DE1 float64 `json:"de00_1"`
	DE2 float64 `json:"de00_2"`
}

// Calibration is the calibration that the plan was made with, frozen.
type Calibration = profiles.Calibration

// Law is the growth law scaled to the calibration, for watch and process.
type Law struct {
	I0         float64         `json:"i0_a_cm2"`
	B          float64         `json:"b_cm_v"`
	KF         float64         `json:"k_f_nm_cm2_c"` // nm of film for a coulomb on a square centimetre
	Efficiency float64         `json:"efficiency"`   // share of the charge that the law expects as film; of a ladder's coupons where they showed it
	NativeFilm unit.Nanometres `json:"native_film_nm"`
	Series     unit.Ohms       `json:"series_ohm"` // expected
}

// BathWindow is where the bath temperature must be to start, and where it trips.
type BathWindow struct {
	Law   unit.Celsius `json:"law_celsius"` // temperature that the law is for
	Least unit.Celsius `json:"least_celsius"`
	Most  unit.Celsius `json:"most_celsius"`
}

// Warning is something that a person should know before starting.
type Warning struct {
	Code    string `json:"code"`
	Message string `json:"message"`
}
