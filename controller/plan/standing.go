package plan

import (
	"fmt"

	"anodized/profiles"
)

// Standing is what a calibration of the shop is good for on a day, whatever load it is
// taken for.
type Standing string

// The standings, the better first.
const (
	StandingGood  Standing = "good"
	StandingLocal Standing = "local" // between its own volts only
	StandingPoor  Standing = "poor"  // it does not describe its own coupons
	StandingStale Standing = "stale"
)

// StandingOf is how a calibration stands today, year-month-day, and all that speaks
// against it. What plans would warn of beside that hangs on the load.
func StandingOf(c profiles.Calibration, today string) (stands Standing, why []string) {
	stands = StandingGood
	say := func(worse Standing, format string, args ...any) {
		stands, why = worse, append(why, fmt.Sprintf(format, args...))
	}
	if share := c.NMPerVoltSD / c.NMPerVolt; !(share <= profiles.WellDetermined) {
		say(StandingLocal, "nm/V is known to %.1f %%: good from %s to %s only", 100*share, c.FromVolts, c.ToVolts)
	}
	if c.RMSDE00 > profiles.GoodRMS && c.RMSDE00 <= profiles.HighestRMS {
		say(StandingLocal, "it misses its own readings by dE00 %.1f, more than %.1f: good from %s to %s only, and as far off there", c.RMSDE00, profiles.GoodRMS, c.FromVolts, c.ToVolts)
	}
	if c.RMSDE00 > profiles.HighestRMS {
		say(StandingPoor, "it misses its own readings by dE00 %.1f, more than %d", c.RMSDE00, profiles.HighestRMS)
	}
	if old := (Key{Today: today}).stale(c); old != "" {
		say(StandingStale, "%s", old)
	}
	return stands, why
}
