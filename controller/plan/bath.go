package plan

import (
	"anodized/hal/unit"
	"anodized/profiles"
)

// farFromLaw is how far a bath may be from the temperature of the law before a run
// is refused: 5 °C is about 1.7 % of film, computed from 0.34 % a kelvin (from
// memory of capacitor practice).
const farFromLaw unit.Celsius = 5

// bathWindow is the bath's own window, narrowed to where the law still holds. The
// law's temperature is that of its calibration, or the bath's where it kept none.
func (d *draft) bathWindow() BathWindow {
	law := d.Calibration.Temperature
	if law == 0 {
		law = d.Bath.Temperature
	}
	made := law // for the film is reckoned at the temperature that was read, where one was
	if d.Temperature != 0 && d.Calibration.Temperature != 0 {
		made = d.Temperature
	}
	return BathWindow{
		Law:   made,
		Least: max(d.Bath.LeastTemp, law-farFromLaw),
		Most:  min(d.Bath.MostTemp, law+farFromLaw, d.hottest()),
	}
}

// hottest is the temperature above which a run ends, where the profile gives one: no load
// starts above it.
func (d *draft) hottest() unit.Celsius {
	if most := d.Profile.Watch.BathHottest; most > 0 {
		return unit.Celsius(most)
	}
	return profiles.MostBathTemperature
}
