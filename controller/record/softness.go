package record

import "anodized/hal/unit"

// Softness is what the decays of a bath's good loads say of its growth law: u at one
// current density.
type Softness struct {
	At     unit.CurrentDensity `json:"at_ma_cm2"`
	Median float64             `json:"softness"`
	SD     float64             `json:"softness_sd"` // of one load, by the scatter of the loads
	Runs   []string            `json:"runs"`
}

// Known tells whether there were loads enough to say how far one is from another.
func (s Softness) Known() bool { return len(s.Runs) >= LeastDecays }

// LeastDecays is how many loads make a softness: our choice.
const LeastDecays = 3
