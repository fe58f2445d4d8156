package profiles

import (
	"cmp"
	"fmt"
	"math"
	"time"

	"anodized/hal/unit"
)

// What the numbers of a ladder hold for; our own choice where no source stands beside it.
const (
	WellDetermined = 0.01 // of nm/V, one standard deviation: above, they hold between the ladder's own volts only
	GoodRMS        = 1.5  // CIEDE2000 of its readings; above, the same. 0.3 V of scatter of the coupons alone makes 1.3, computed
	HighestRMS     = 3    // CIEDE2000; above, they do not describe this surface
)

// MostBathTemperature is the warmest of any file and of any reading that a person gives.
const MostBathTemperature unit.Celsius = 60

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
	Efficiency        float64             `json:"efficiency,omitempty"` // share of the charge that stays as film, by the coupons on their declared area; 0: that of the metal's growth constants
	EfficiencySD      float64             `json:"efficiency_sd,omitempty"`
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

// Check refuses a calibration that no ladder can have given; a file is refused earlier,
// with the place of its mistake.
func (c Calibration) Check() error {
	for _, q := range []struct {
		name               string
		value, least, most float64
	}{
		{"nm per volt", c.NMPerVolt, 0.5, 5}, {"nm per volt sd", c.NMPerVoltSD, 0, 2},
		{"offset in nm", float64(c.Offset), -10, 20}, {"offset sd in nm", float64(c.OffsetSD), 0, 20},
		{"index scale", c.Index(), 0.5, 1.5}, {"correlation", c.Correlation, -1, 1},
		{"end current density in mA/cm2", float64(c.EndCurrentDensity), float64(leastEnd), float64(mostDensity)},
		{"softness", max(c.Softness, leastSoftness), leastSoftness, mostSoftness}, {"softness sd", c.SoftnessSD, 0, mostSoftness},
		{"efficiency", cmp.Or(c.Efficiency, 1), leastEfficiency, mostEfficiency}, {"efficiency sd", c.EfficiencySD, 0, mostEfficiency},
		{"from volts", float64(c.FromVolts), 0, 500}, {"to volts", float64(c.ToVolts), float64(c.FromVolts), 500},
	} {
		if !(q.value >= q.least && q.value <= q.most) {
			return fmt.Errorf("calibration %q: %s is %g, allowed is %g to %g", c.ID, q.name, q.value, q.least, q.most)
		}
	}
	switch {
	case !plainID(c.ID):
		return fmt.Errorf("%q is not an id for a calibration; letters, digits, points and hyphens are allowed, 64 at most, a letter first", brief(c.ID))
	case c.Metal == "" || c.Film == "" || c.Substrate == "" || c.Provenance == "":
		return fmt.Errorf("calibration %q: metal, film, substrate and provenance must be said", c.ID)
	case c.Date != "":
		if _, err := time.Parse(time.DateOnly, c.Date); err != nil {
			return fmt.Errorf("calibration %q: %q is not a date; year-month-day is needed", c.ID, c.Date)
		}
	}
	return nil
}
