package plan

import (
	"fmt"

	"anodized/controller/film"
	"anodized/hal/unit"
)

// The contact check: slow, and low enough that a mistake costs at most a pale
// straw that the film grows past. Our choices; 0.5 V/s is common practice, no
// source.
const (
	checkVolts  unit.Volts          = 8
	checkShare                      = 0.6
	checkRamp   unit.VoltsPerSecond = 0.5
	checkMargin unit.Seconds        = 60 // as long as a question may stay open
)

// contactCheck plans the contact check. Parts that were formed draw nothing until
// their volts are reached, so on a formed rack the check ends above those: by the
// lesser of 8 V and 0.6 of what is still to grow.
func (d *draft) contactCheck(target unit.Volts) (ContactCheck, error) {
	formed := d.Rack.FormedTo
	check := ContactCheck{
		Volts:       formed + min(checkVolts, checkShare*(target-formed)),
		Ramp:        min(checkRamp, d.Profile.Ramp),
		FormedVolts: formed,
	}
	out, err := film.Run(film.Load{
		Law: d.law, Area: d.area.Total, Series: d.series, Native: d.film,
		Target: check.Volts, Rate: check.Ramp, Limit: d.limit, End: film.End{Time: 1},
	})
	if err != nil {
		return ContactCheck{}, fmt.Errorf("forecast the contact check: %w", err)
	}
	check.LongestCheck = out.RampSeconds + checkMargin
	moved := d.Profile.Watch.Filled()
	share := moved.ContactShare
	if formed > 0 {
		share = moved.FormedShare // of the forecast: a formed rack carries a fraction of its ramp current just above its volts
	}
	check.NoContact = unit.Amperes(share) * out.RampCurrent
	return check, nil
}
