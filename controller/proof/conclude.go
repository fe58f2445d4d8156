package proof

import "fmt"

// Conclude says what is wrong and what is not proven. Answers that are missing are
// neither: they narrow.
func (r *Report) Conclude() {
	r.Wrong, r.NotProven = []string{}, append([]string{}, r.NotProven...)
	for _, d := range r.Devices {
		r.say(d.OK, true, d.Name, d.Why)
	}
	r.say(r.Link.OK, true, "link", r.Link.Why)
	for _, l := range r.Limits {
		r.say(l.OK, true, l.name(), l.Why)
	}
	r.say(r.Zero.OK, true, "zero", r.Zero.Why)
	r.say(r.Interlock.OK, r.Interlock.wrong(), "interlock", r.Interlock.Why)
	if r.Stop != nil {
		r.say(r.Stop.OK, r.Stop.wrong(), "emergency stop", r.Stop.Why)
	}
	if r.Contactor != nil {
		r.say(r.Contactor.OK, r.Contactor.Tried, "contactor", r.Contactor.Why)
	}
	if r.Load != nil {
		r.say(r.Load.OK, r.Load.Done, "dummy load", r.Load.Why)
	}
	r.OK = len(r.Wrong) == 0 && len(r.NotProven) == 0
}

func (l Limit) name() string {
	if !l.Asked.Known() {
		return l.What
	}
	return fmt.Sprintf("%s of %.6g %s", l.What, float64(l.Asked), l.Unit)
}

func (r *Report) say(ok, wrong bool, what, why string) {
	switch {
	case ok:
	case wrong:
		r.Wrong = append(r.Wrong, what+": "+why)
	default:
		r.NotProven = append(r.NotProven, what+": "+why)
	}
}

// wrong tells a fault that was seen from what was only not seen: a lid that nobody lifted.
func (o Opening) wrong() bool {
	return o.Opened[0] != o.Opened[1] || o.DiscrepancyMS > ms(discrepancy)
}
