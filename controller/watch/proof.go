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
		w.found.add(fault.ContactNotProven, w.book.last, "certain", float64(w.plan.Parts), 100*float64(w.plan.SmallestPart)/w.decl,
			w.balance.blind, w.balance.judged, least, max(least, most))
	}
}

// films are the least and the most volts of an earlier film that would have been told as it
// joined this ramp.
func (w *Watch) films() (least, most float64) {
	j := Join{Softness: w.law.Softness(unit.Amperes(w.decay.current).Over(w.area)), Drop: w.series() * w.decay.current,
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
