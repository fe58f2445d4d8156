package profiles

import (
	"bytes"
	"fmt"
	"strconv"

	"anodized/hal/unit"
)

// Text is the calibration as a file that [ReadCalibration] reads back to the bit.
func (c Calibration) Text() []byte {
	var to bytes.Buffer
	line := func(given bool, key, value string) {
		if given {
			fmt.Fprintf(&to, "%s: %s\n", key, value)
		}
	}
	plain := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	line(true, "id", c.ID)
	line(true, "metal", strconv.Quote(c.Metal))
	line(c.Finish != "", "finish", strconv.Quote(c.Finish))
	line(c.Bath != "", "bath", strconv.Quote(c.Bath))
	line(true, "film", c.Film)
	line(true, "substrate", c.Substrate)
	line(c.IndexScale != 0, "index scale", plain(c.IndexScale))
	line(true, "nm per volt", plain(c.NMPerVolt)+" nm/V")
	line(true, "offset", unit.Format(c.Offset))
	line(true, "nm per volt sd", plain(c.NMPerVoltSD)+" nm/V")
	line(true, "offset sd", unit.Format(c.OffsetSD))
	line(c.Correlation != 0, "correlation", plain(c.Correlation))
	line(true, "end current density", unit.Format(c.EndCurrentDensity))
	line(c.Softness != 0, "softness", plain(c.Softness))
	line(c.Softness != 0 && c.SoftnessSD != 0, "softness sd", plain(c.SoftnessSD))
	line(c.Efficiency != 0, "efficiency", plain(c.Efficiency))
	line(c.Efficiency != 0 && c.EfficiencySD != 0, "efficiency sd", plain(c.EfficiencySD))
	line(c.Ramp != 0, "ramp", unit.Format(c.Ramp))
	line(c.Temperature != 0, "temperature", unit.Format(c.Temperature))
	line(c.Date != "", "date", c.Date)
	line(c.ToVolts != 0, "from volts", unit.Format(c.FromVolts))
	line(c.ToVolts != 0, "to volts", unit.Format(c.ToVolts))
	line(c.Readings != 0 && c.RMSDE00 != 0, "rms dE00", plain(c.RMSDE00))
	line(c.Readings != 0, "readings used", strconv.Itoa(c.Readings))
	line(c.Book, "book", "true")
	line(c.Simulated, "simulated", "true")
	line(true, "provenance", strconv.Quote(c.Provenance))
	return to.Bytes()
}
