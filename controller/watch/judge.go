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
	switch k.Phase {
	case PhaseRamp:
		w.rampContact(k)
		w.rampGone(k)
		w.limited(k)
		w.leftOfRamp(k)
		w.behaviour(k)
	case PhaseHold:
		if math.IsNaN(w.decay.start) {
			w.begin(k)
		}
		w.holdContact(k)
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
		pace = math.Max(0.02*pace, w.endRate(float64(k.T)))
	}
	ramp := math.Max(0, float64(stage.TargetVolts)-w.medianV.value()) / pace
	hold := float64(w.plan.Expected.HoldSeconds)
	if math.IsNaN(hold) || hold < 0 {
		hold = 0
	}
	w.decay.left = [3]float64{ramp + 0.67*hold, ramp + hold, ramp + 1.33*hold}
}

// behaviour compares what the load behaves like with what was declared, once
// enough of the ramp has been seen. A book calibration does not know this bath, so
// its excess may be lost efficiency as well as area.
func (w *Watch) behaviour(k Tick) {
	if w.book.judgedArea || !w.live.ok || w.medianV.value() < w.judgeVolts() {
		return
	}
	w.book.judgedArea = true
	now, ratio := float64(k.T), w.live.area/w.decl
	sure, most := "likely", 1.15
	if w.plan.Calibration.Book {
		sure, most = "possible", 1.8
	}
	switch {
	case ratio < 0.85:
		w.found.add(fault.AreaOverstated, now, "likely", w.live.area, w.decl, ratio)
	case ratio > most:
		w.found.add(fault.AreaUnderstated, now, "likely", w.live.area, w.decl, ratio)
	case ratio > 1.3:
		w.found.add(fault.AreaUnderstated, now, sure, w.live.area, w.decl, ratio)
	}
	if w.onset > 5 && w.plan.ContactCheck.FormedVolts == 0 {
		w.found.add(fault.OxideAlreadyPresent, now, "likely", w.onset, w.live.film)
	}
	w.resistance(now)
}

// judgeVolts is where the behaviour of the load is judged: 30 V, or nine tenths of
// a lower target.
func (w *Watch) judgeVolts() float64 {
	return math.Min(30, 0.9*float64(w.plan.TargetVolts))
}

// resistance compares the series resistance with what is expected of the bath.
// Small currents do not show it.
func (w *Watch) resistance(now float64) {
	expected, seen := float64(w.plan.Law.Series), w.live.series
	if !(expected > 0) || !(seen*w.medianI.value() > 0.3) && !(expected*w.medianI.value() > 0.6) {
		return
	}
	switch {
	case seen > 2.5*expected:
		w.found.add(fault.BathResistanceHigh, now, "possible", seen, expected)
	case seen < 0.4*expected:
		w.found.add(fault.BathResistanceLow, now, "possible", seen, expected)
	}
}
