package watch

import (
	"math"

	"anodized/controller/fault"
)

// judge runs the detectors that fit the phase.
func (w *Watch) judge(k Tick) {
	w.short(k)
	w.following(k)
	w.stuck(k)
	w.wetted(k)
	w.grownNothing(k)
	w.swing(k)
	w.rising(k)
	w.sagging(k)
	w.sparksAtLimit(k)
	w.below(k)
	w.balanced(k)
	w.sees()
	switch k.Phase {
	case PhaseContactCheck:
		w.checked(k)
	case PhaseRamp:
		w.rampContact(k)
		w.rampGone(k)
		w.joining(w.ring.at(0))
		w.climbingCurrent(k)
		w.limited(k)
		w.leftOfRamp(k)
		w.behaviour(k)
	case PhaseHold:
		if math.IsNaN(w.decay.start) {
			w.begin(k)
			w.joined(float64(k.T), w.mixed.last) // no bin follows that would close it
		}
		w.holdGone(k)
		w.resistance(float64(k.T))
		w.follow(k)
	}
}

// limited marks once that the current limit, not the ramp, set the pace.
func (w *Watch) limited(k Tick) {
	if k.Limited && k.Limit > 0 && w.medianI.value() > 0.97*float64(k.Limit) {
		w.found.add(fault.LimitedByCurrent, float64(k.T), "certain", float64(k.Limit), float64(k.Volts))
	}
}

// leftOfRamp is the time left while the ramp still runs: its rest at the pace of
// now, and the hold that the plan expects.
func (w *Watch) leftOfRamp(k Tick) {
	if len(w.plan.Stages) == 0 {
		return
	}
	stage := w.plan.Stages[min(w.stage, len(w.plan.Stages)-1)]
	pace := float64(stage.Ramp)
	if k.Limited {
		pace = max(0.02*pace, w.endRate(float64(k.T)))
	}
	ramp := max(0, float64(stage.TargetVolts)-w.medianV.value()) / pace
	hold := float64(w.plan.Expected.HoldSeconds)
	if math.IsNaN(hold) || hold < 0 {
		hold = 0
	}
	w.decay.left = [3]float64{ramp + 0.67*hold, ramp + hold, ramp + 1.33*hold}
}

// behaviour compares what the load behaves like with what was declared, once
// enough of the ramp has been seen. A book calibration does not know this bath, so
// its excess may be lost efficiency as well as area. From a gap on the charge is
// not known, and the fit stands still at what was seen before.
func (w *Watch) behaviour(k Tick) {
	if w.book.judgedArea || w.charge.unknown || !w.live.ok || w.medianV.value() < w.judgeVolts() {
		return
	}
	w.book.judgedArea = true
	now, ratio := float64(k.T), w.live.area/w.decl
	w.missing.ramp = ratio
	w.lacks(now, ratio, w.plan.History.Ramp)
	sure, most := "likely", w.most.MostArea
	if w.plan.Calibration.Book {
		sure, most = "possible", 1.8
	}
	switch {
	case ratio < w.most.LeastArea:
		w.found.add(fault.AreaOverstated, now, "likely", w.live.area, w.decl, ratio)
	case ratio > most:
		w.found.add(fault.AreaUnderstated, now, "likely", w.live.area, w.decl, ratio)
	case ratio > 1.3:
		w.found.add(fault.AreaUnderstated, now, sure, w.live.area, w.decl, ratio)
	}
	more := max(0, w.live.series-w.series()) * w.onsetAmperes // leads and bath that resist more than believed
	if w.onset-more > w.most.OnsetVolts && w.plan.ContactCheck.FormedVolts == 0 {
		w.found.add(fault.OxideAlreadyPresent, now, "likely", w.onset, w.live.film)
	}
}

// judgeVolts is where the behaviour of the load is judged: 30 V, or nine tenths of
// a lower target.
func (w *Watch) judgeVolts() float64 {
	return min(30, 0.9*float64(w.plan.TargetVolts))
}

// coarse tells before the start that the end will be read in few steps.
func (w *Watch) coarse() {
	step, end := float64(w.bench.AmpereStep), float64(w.plan.End.Current)
	if w.plan.End.Time == 0 && end > 0 && step > end/w.most.EndSteps*(1+1e-9) {
		w.found.add(fault.ReadbackTooCoarse, 0, "certain", step, end)
	}
}
