package plan

import (
	"math"

	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/hal/unit"
)

// perKelvin is by how much more film a volt holds for each kelvin: the field at one
// current density is inversely proportional to the absolute temperature (from memory of
// capacitor practice: tantalum, 1.65 nm/V at 25 °C and about 2.0 at 85 to 90). Nobody has
// confirmed it for titanium in these baths, so its standard deviation is all of it.
const perKelvin = 0.0034

// warmth is what the nm per volt of the calibration are times those at the bath's
// temperature. It is 1, with nothing added for its doubt, where one of the two temperatures
// is not known: a warning says what that may come to.
func (d *draft) warmth() (factor, sd float64) {
	if d.Temperature == 0 || d.Calibration.Temperature == 0 {
		return 1, 0
	}
	change := perKelvin * float64(d.Temperature-d.Calibration.Temperature)
	return 1 + change, math.Abs(change)
}

// scale is what some volts make, for a run that ends at a density in the bath as it is.
func (d *draft) scale(end unit.CurrentDensity) colour.Scale {
	s := colour.ScaleFor(d.Calibration, d.law, end)
	warmth, _ := d.warmth()
	s.NMPerVolt *= warmth
	return s
}

// sure is how well a film is known before it is there: standard deviations.
type sure struct {
	nmPerVolt float64 // converted
	film      float64 // nm
}

// sureness is that of the calibration at some volts, with what the conversion to this
// end and temperature adds: each in its own right, so their squares add.
func (d *draft) sureness(volts unit.Volts, end unit.CurrentDensity) sure {
	c := d.Calibration
	conversion, conversionSD := d.law.Convert(c.EndCurrentDensity, end, film.SoftnessSD(d.Metal.Growth, c))
	warmth, warmthSD := d.warmth()
	all := conversion * warmth
	own := c.NMPerVoltSD * all
	added := c.NMPerVolt * math.Hypot(warmth*conversionSD, conversion*warmthSD)
	c.NMPerVoltSD = own
	return sure{
		nmPerVolt: math.Hypot(own, added),
		film:      math.Hypot(float64(c.ThicknessSD(volts)), added*float64(volts)),
	}
}
