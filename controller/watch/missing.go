package watch

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/plan"
)

// missing compares what the load behaves like with the good loads of the same rack: a
// part that never had contact is a smaller area, and only the rack's own past tells the
// two apart.
type missing struct {
	check, ramp float64 // live area over the declared one; NaN before
}

func (m *missing) reset() { *m = missing{check: math.NaN(), ramp: math.NaN()} }

// Shares are the live area over the declared one, at the end of the contact check and
// where the ramp is judged; not a number where they were not seen. They are what the
// next loads of the rack are compared with.
func (w *Watch) Shares() (check, ramp float64) { return w.missing.check, w.missing.ramp }

// Missing tells whether the contact check shows less area than a part of it explains.
func (w *Watch) Missing() bool {
	return w.book.phase == PhaseContactCheck && w.found.has(fault.PartMissing)
}

// checked is the detector's share of a tick in the contact check.
func (w *Watch) checked(k Tick) {
	if !w.live.ok || w.charge.unknown {
		return
	}
	w.missing.check = w.live.area / w.decl
	if w.medianV.value() >= checkedFrom*float64(w.plan.ContactCheck.Volts) {
		w.lacks(float64(k.T), w.missing.check, w.plan.History.Check)
	}
}

// checkedFrom is the share of the volts of the contact check at which it is judged.
const checkedFrom = 0.97

// lacks judges a share of the declared area against the good loads.
func (w *Watch) lacks(now, share float64, past plan.Share) {
	n := w.plan.History.Loads
	if n < plan.LeastLoads || !(past.Mean > 0) || w.plan.Parts < 2 {
		return
	}
	if less := 1 - share/past.Mean; less > max(w.halfPart(), w.limitOf(past)) {
		w.found.add(fault.PartMissing, now, "likely", 100*less, float64(n), 100*w.limitOf(past))
	}
}

// halfPart is half of the smallest part, of the area: halfway to one that is missing.
func (w *Watch) halfPart() float64 { return 0.5 * float64(w.plan.SmallestPart) / w.decl }

// limitOf is how much less than its past a good load may show: one in two hundred does.
func (w *Watch) limitOf(past plan.Share) float64 {
	n := w.plan.History.Loads
	sd := max(past.SD/past.Mean, w.most.MissingSD)
	return student(n-1) * math.Sqrt(1+1/float64(n)) * sd
}

// proven tells whether the good loads of this rack would have shown its smallest part.
func (w *Watch) proven() bool {
	past := w.plan.History.Ramp
	return w.plan.History.Loads >= plan.LeastLoads && past.Mean > 0 && !math.IsNaN(w.missing.ramp) &&
		w.limitOf(past) < 2*w.halfPart()
}

// quantiles are those of Student's t at 99.5 %, for 4 degrees of freedom and more (from
// memory, tables of the distribution).
var quantiles = [...]float64{4.604, 4.032, 3.707, 3.499, 3.355, 3.250, 3.169, 3.106, 3.055, 3.012, 2.977, 2.947, 2.921,
	2.898, 2.878, 2.861}

// student is the quantile for so many degrees of freedom.
func student(degrees int) float64 {
	return quantiles[max(0, min(degrees-4, len(quantiles)-1))]
}
