package plan

import (
	"math"
	"slices"
	"strings"

	"anodized/profiles"
)

// timeRanOut and complete are the outcomes that a plan can tell beforehand.
const (
	complete   = "complete"
	timeRanOut = "time-ran-out"
)

func (d *draft) warnOfRack() []Warning {
	found := append(d.warnOfContact(), d.warnOfLearned()...)
	if share := float64(d.area.Uncertainty / d.area.Total); share > areaDoubt {
		found = append(found, warn(AreaUncertain, "the wetted area is known to %.0f %%, and so is the end current: measure the parts, or take the area from their drawing", 100*share))
	}
	heats := distinct(d.Rack.Parts, func(p profiles.Part) string { return p.HeatNumber })
	if len(heats) > 1 {
		found = append(found, warn(MixedHeatNumbers, "parts of %d heat numbers hang together: their colours may differ; sort them, or colour a coupon of each", len(heats)))
	}
	finishes := distinct(d.Rack.Parts, func(p profiles.Part) string { return p.Finish })
	if len(finishes) > 1 {
		found = append(found, warn(MixedFinishes, "parts of %d finishes hang together: they will not match; one finish to a set", len(finishes)))
	}
	return found
}

func (d *draft) warnOfContact() []Warning {
	var found []Warning
	check := d.plan.ContactCheck
	if check.FormedVolts > 0 {
		found = append(found, warn(FormedRack, "the parts carry a film of %v and draw nothing below it: contact is checked at %s, from %s on; a bare part among them shows itself from a few volts on", check.FormedVolts, show(check.Volts), show(check.NoContact)))
	}
	if step := d.Supply.AmpereStep; check.NoContact < leastCountsAtEnd*step {
		found = append(found, warn(ContactBelowReading, "at the contact check %s tell contact from none, and this supply reads amperes in steps of %v: an open lead may pass unseen; %s", show(check.NoContact), step, finerReading))
	}
	if share := float64(d.area.Smallest / d.area.Total); share < provableShare {
		found = append(found, warn(ContactNotProvable, "one part without contact would take %.1f %% of the current, too little to be told from other scatter: seat every part with care, or hang fewer than %d", 100*share, int(math.Ceil(1/provableShare))))
	}
	return found
}

func (d *draft) warnOfBench() []Warning {
	var found []Warning
	switch {
	case d.Attended && len(d.Because) > 0:
		found = append(found, warn(AttendedOnly, "attended runs only, stay beside the bench with a hand on the emergency stop: %s", strings.Join(d.Because, "; ")))
	case d.Attended:
		found = append(found, warn(AttendedOnly, "this bench has no contactor, and its supply stays on when this computer dies: attended runs only, stay beside it with a hand on the emergency stop"))
	}
	if !d.Simulated {
		return found
	}
	return append(found, warn(Simulated, "SIMULATED: the bench of this plan is a virtual one, and nothing of it holds for a real one"))
}

// distinct returns the different answers of the parts that give one.
func distinct(parts []profiles.Part, of func(profiles.Part) string) []string {
	var seen []string
	for _, part := range parts {
		if text := of(part); text != "" && !slices.Contains(seen, text) {
			seen = append(seen, text)
		}
	}
	return seen
}
