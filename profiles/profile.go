package profiles

import "anodized/hal/unit"

// Profile is what we want of a load.
type Profile struct {
	Name           string              `json:"name"`
	Metal          string              `json:"metal"` // id of a metal
	Bath           string              `json:"bath"`  // id of a bath
	Target         Target              `json:"target"`
	Ramp           unit.VoltsPerSecond `json:"ramp_volts_per_second"`
	CurrentDensity unit.CurrentDensity `json:"current_density_ma_cm2"` // the limit, on the wetted area
	Ceiling        unit.Volts          `json:"ceiling_volts"`          // 0: not given
	End            End                 `json:"end"`
	Note           string              `json:"note,omitempty"`   // source or status of the figures
	Watch          Watch               `json:"watch,omitzero"`   // thresholds that the shop moved
	Stages         []Stage             `json:"stages,omitempty"` // in place of the target: several colours, each a run of its own
	Sweep          *Sweep              `json:"sweep,omitempty"`  // likewise
	Order          string              `json:"order,omitempty"`  // of stages: Rising, or "" for the highest first
}

// Target is the wish: exactly one of its fields is set.
type Target struct {
	Volts     unit.Volts      `json:"volts,omitempty"`
	Thickness unit.Nanometres `json:"thickness_nm,omitempty"`
	Hex       string          `json:"hex,omitempty"` // "#rrggbb", lower case
	Lab       *[3]float64     `json:"lab,omitempty"` // CIELAB, D65, 2 degree observer
}

// End is the end criterion. Either a density that must have been sustained, or,
// where Time is above zero, a timed hold.
type End struct {
	CurrentDensity unit.CurrentDensity `json:"current_density_ma_cm2"`
	Sustained      unit.Seconds        `json:"sustained_seconds"`
	LeastHold      unit.Seconds        `json:"least_hold_seconds"`
	LongestHold    unit.Seconds        `json:"longest_hold_seconds"` // 0: the plan works one out
	Time           unit.Seconds        `json:"time_seconds,omitempty"`
}
