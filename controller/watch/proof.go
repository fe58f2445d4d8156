package watch

import (
	"anodized/controller/fault"
	"anodized/hal/unit"
)

// unproven: a part that never had contact is a smaller area, and without the good
// loads of this rack nothing tells the two apart, nor where those scatter by as much as a
// part. It is kept on the record, so that a
// clean curve is not taken for a proof of each part.
func (w *Watch) unproven(reached bool) {
	if reached && w.plan.Parts > 1 && !w.proven() {
		least, most := w.films()
		says := unprovenParts
		if least < most {
			says += ", but for those at %.0f to %.0f V"
		}
		w.found.say(fault.ContactNotProven, w.book.last, "certain", says, float64(w.plan.Parts), 100*float64(w.plan.SmallestPart)/w.decl,
			w.balance.blind, w.balance.judged, least, most)
	}
}

const unprovenParts = "%.0f parts, the smallest %.0f %% of the area: without good loads of this rack to compare with, the contact of each is not proven; blind to a part that loses it: %.0f s of %.0f s above 12 V; blind to parts that were coloured before"

// films are the least and the most volts of an earlier film that would have been told as it
// joined this ramp.
func (w *Watch) films() (least, most float64) {
	j := Join{Rest: w.law.Softness(w.restDensity()), Softness: w.law.Softness(unit.Amperes(w.decay.current).Over(w.area)), Drop: w.series() * w.decay.current,
		Rate: w.decay.rate, From: float64(w.plan.ContactCheck.Volts)}
	return j.Films(float64(w.plan.TargetVolts))
}

// sees counts how long the loss of the smallest part would have been told, and how long not.
func (w *Watch) sees() {
	b, s := &w.balance, w.ring.at(0)
	if s.v <= judgedVolts || w.ring.n < 2 {
		return
	}
	dt := min(s.t-w.ring.at(1).t, longestGap)
	b.judged += dt
	if !(b.least*w.decl <= float64(w.plan.SmallestPart)) {
		b.blind += dt
	}
}
