package plan

import (
	"fmt"
	"math"

	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Request is everything that a plan is made from.
type Request struct {
	Profile     profiles.Profile
	Rack        profiles.Rack
	Metal       profiles.Metal
	Bath        profiles.Bath
	Calibration profiles.Calibration
	Choice      *Choice         // how it was come by; nil where that is not told
	Today       string          // year-month-day; "" leaves its age unjudged
	Temperature unit.Celsius    // of the bath, as it was read today; 0 is not known
	Surface     *colour.Surface // film on metal, as the eye sees it
	Supply      SupplyLimits
	Adopted     *Adopted // area of the rack that a person adopted; nil for none
	History     History  // of the rack, from the journal; the zero value where there is none
	Simulated   bool     // for the virtual bench
	Because     []string // why attended runs only, where it is not the reason below
	Job         *Job     // where this is one run of several: see Runs
	Attended    bool     // the bench has neither a contactor nor a supply that goes off by itself without its host
}

// SupplyLimits is what is known of the supply. Zero is not known.
type SupplyLimits struct {
	HighestVolts   unit.Volts
	HighestAmperes unit.Amperes
	LeastVolts     unit.Volts   // the least setpoint; above zero the supply cannot be starved
	LeastAmperes   unit.Amperes // the least current limit; likewise
	VoltStep       unit.Volts
	AmpereStep     unit.Amperes
}

// check refuses what no plan can be made from. Loaders refuse the same earlier and
// say where it stands; a request may also come from elsewhere.
func (r Request) check() error {
	if len(r.Profile.Stages) > 0 || r.Profile.Sweep != nil {
		return fmt.Errorf("plan %q: the profile has stages, each a run of its own: plan one of them", r.Profile.Name)
	}
	if r.Surface == nil {
		return fmt.Errorf("plan %q: no optical constants of the metal %q were given", r.Profile.Name, r.Metal.ID)
	}
	if r.Calibration.Simulated && !r.Simulated {
		return fmt.Errorf("plan %q: calibration %q is SIMULATED and must not feed a real bench: make a ladder in the real bath, or name another calibration", r.Profile.Name, r.Calibration.ID)
	}
	if err := r.Profile.Watch.Check(); err != nil {
		return fmt.Errorf("plan %q: %w", r.Profile.Name, err)
	}
	if err := r.History.check(); err != nil {
		return fmt.Errorf("plan %q: %w", r.Profile.Name, err)
	}
	if err := r.checkNumbers(); err != nil {
		return fmt.Errorf("plan %q: %w", r.Profile.Name, err)
	}
	return r.checkEnd()
}

func (r Request) checkNumbers() error {
	for _, q := range []struct {
		name  string
		value float64
	}{
		{"ramp in V/s", float64(r.Profile.Ramp)},
		{"current density in mA/cm2", float64(r.Profile.CurrentDensity)},
		{"nm per volt of the calibration", r.Calibration.NMPerVolt},
		{"end current density of the calibration in mA/cm2", float64(r.Calibration.EndCurrentDensity)},
	} {
		if !(q.value > 0) || math.IsInf(q.value, 0) {
			return fmt.Errorf("%s is %g: it must be above 0 and finite", q.name, q.value)
		}
	}
	if formed := float64(r.Rack.FormedTo); !(formed >= 0) || math.IsInf(formed, 0) {
		return fmt.Errorf("the rack is formed to %g V: give 0 V or more", formed)
	}
	if series := float64(r.Bath.Series); !(series >= 0) || math.IsInf(series, 0) {
		return fmt.Errorf("the series resistance of the bath is %g ohm: give 0 ohm or more", series)
	}
	return r.checkBath()
}

// checkBath refuses a bath whose temperatures are not said: its window is what keeps a load
// from a bath that is too cold or too warm, and one of no width would keep none.
func (r Request) checkBath() error {
	b := r.Bath
	if !(b.LeastTemp < b.MostTemp) || !(b.Temperature >= b.LeastTemp && b.Temperature <= b.MostTemp) || !(b.Temperature > 0) {
		return fmt.Errorf("the bath %q is usually at %s and is kept from %s to %s: give it a temperature above 0 °C, a least one and a most one above that", b.ID, show(b.Temperature), show(b.LeastTemp), show(b.MostTemp))
	}
	return nil
}

func (r Request) checkEnd() error {
	end := r.Profile.End
	byTime, byDensity := end.Time > 0, end.CurrentDensity > 0
	switch {
	case !byTime && !byDensity:
		return fmt.Errorf("plan %q: the profile has no end: give an end current density or a time", r.Profile.Name)
	case !byTime && end.CurrentDensity >= r.Profile.CurrentDensity:
		return fmt.Errorf("plan %q: the end current density %v is not below the current density %v of the ramp: the hold would end before it began", r.Profile.Name, end.CurrentDensity, r.Profile.CurrentDensity)
	case !byTime && end.LongestHold > 0 && end.LeastHold > end.LongestHold:
		return fmt.Errorf("plan %q: the least hold %v is longer than the longest hold %v", r.Profile.Name, end.LeastHold, end.LongestHold)
	}
	return nil
}
