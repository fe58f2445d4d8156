package profiles

import (
	"math"

	"anodized/hal/unit"
)

// Calibration says how thick a film a volt makes in one bath on one metal and finish,
// at one end current density: d = Offset + NMPerVolt V. It is valid for that end only;
// the plan converts it to the profile's own end by the growth law.
//
// Colour fixes the product of index and thickness. The nanometres are those of the
// optical table of Film with its index times IndexScale.
type Calibration struct {
	ID          string          `json:"id"`
	Metal       string          `json:"metal"`
	Finish      string          `json:"finish,omitempty"` // of the coupons, as racks say it; "" is not known
	Bath        string          `json:"bath,omitempty"`
	Film        string          `json:"film"`
	Substrate   string          `json:"substrate"`
	IndexScale  float64         `json:"index_scale,omitempty"` // of the film's n; 0 is 1
	NMPerVolt   float64         `json:"nm_per_volt"`
	Offset      unit.Nanometres `json:"offset_nm"`
	NMPerVoltSD float64         `json:"nm_per_volt_sd"`
	OffsetSD    unit.Nanometres `json:"offset_nm_sd"`
	Correlation float64         `json:"correlation,omitempty"` // of nm per volt and offset, -1 to 1

	EndCurrentDensity unit.CurrentDensity `json:"end_current_density_ma_cm2"`
	Softness          float64             `json:"softness,omitempty"` // u at that density, measured on decays; 0: that of the metal's growth constants
	SoftnessSD        float64             `json:"softness_sd,omitempty"`
	Ramp              unit.VoltsPerSecond `json:"ramp_volts_per_second,omitempty"` // of the ladder; 0 is not known
	Temperature       unit.Celsius        `json:"temperature_celsius,omitempty"`   // of the bath; 0 is not known

	Date      string     `json:"date,omitempty"`       // of the ladder, year-month-day
	FromVolts unit.Volts `json:"from_volts,omitempty"` // what the ladder covers
	ToVolts   unit.Volts `json:"to_volts,omitempty"`   // 0: the range is not known
	RMSDE00   float64    `json:"rms_de00,omitempty"`   // of the readings that were used
	Readings  int        `json:"readings_used,omitempty"`

	Book       bool   `json:"book"` // from literature or practice, not measured in this bath
	Simulated  bool   `json:"simulated"`
	Provenance string `json:"provenance"`
}

// Index is what the film's n is times that of its optical table.
func (c Calibration) Index() float64 {
	if c.IndexScale == 0 {
		return 1
	}
	return c.IndexScale
}

// Covers tells whether the ladder reached these volts; a range that is not known
// covers all.
func (c Calibration) Covers(v unit.Volts) bool {
	return c.ToVolts == 0 || v >= c.FromVolts && v <= c.ToVolts
}

// ThicknessSD is the standard deviation of the film at some volts, at the
// calibration's own end, from that of its two numbers and their correlation.
func (c Calibration) ThicknessSD(v unit.Volts) unit.Nanometres {
	slope, offset := c.NMPerVoltSD*float64(v), float64(c.OffsetSD)
	return unit.Nanometres(math.Sqrt(max(0, slope*slope+offset*offset+2*c.Correlation*slope*offset)))
}
