package watch

import (
	"math"

	"anodized/hal/unit"
)

// What a current that stands still in a hold must have moved by before it is stuck, in
// steps of its reading. How much of the reading dies away is not known at once: the rest
// may flow past the parts for ever. So three steps count where they are those that the
// reading itself made before it stood still; by the law alone it is three steps of the
// twentieth that surely dies away, or the half of everything.
const (
	movedSteps  = 3
	surelyDying = 1.0 / 20
	halved      = 0.5
	limitHolds  = 0.3 // V below the setpoint, whether or not the volts are seen to rise
	belowSigmas = 2   // of one reading: what else is below it
)

// The fall before that is believed: over so many seconds of the hold, and so many steps,
// since a fall of few steps is known to a step at each end; and not twice as steep as the
// law, since a part that is lost falls too and then stands.
const (
	fallTime   = 2.5 // s
	fallSteps  = 4
	mostOfFall = 2
)

// amperesStuck tells whether amperes that were the same to the last digit for a second
// should have moved: told in the tick in which the prediction says so.
func (w *Watch) amperesStuck(k Tick) bool {
	d := &w.decay
	if k.Phase != PhaseHold || math.IsNaN(d.start) || !(d.current > 0) {
		return false
	}
	now, amperes, step := float64(k.T), float64(k.Amperes), w.readSteps()
	if now-w.supply.heldAt <= w.most.StuckTime {
		return false
	}
	start := max(d.start, w.supply.heldAt)
	relax := w.slowestRelax()
	from := max(0, w.supply.sameI.since-start) + relax // since when the decay would have begun at infinity
	gone := 1 - from/(now-start+relax)
	limited := w.atLimit(k) // the limit may hold it
	return gone*amperes > movedSteps*step && gone > halved ||
		!limited && gone*amperes*surelyDying > movedSteps*step ||
		!limited && w.fallBefore(w.supply.sameI.since, from, amperes)*from*gone > movedSteps*step+w.wander(amperes)
}

// slowestRelax is the time constant of the decay, s: where the limit slowed the ramp below
// what a coarse meter shows of a slope, it is known from what the charge lets grow. Half of
// the area may have been declared too much.
func (w *Watch) slowestRelax() float64 {
	d, area := &w.decay, w.decl/2
	if w.live.ok {
		area = w.live.area
	}
	j := unit.Amperes(d.current).Over(unit.SquareCentimetres(area))
	return d.relax * max(1, d.rate/float64(w.law.RampRate(j)))
}

// atLimit tells whether the current is as high as the limit lets it be.
func (w *Watch) atLimit(k Tick) bool {
	return k.Limited || float64(k.Amperes) >= 0.9*float64(k.Limit)
}

// held tells whether the limit holds the current and takes the volts for it, as while
// parts that come back catch up: no decay begins before the volts are there.
func (w *Watch) held(k Tick) bool {
	below := float64(k.Set) - w.medianV.value()
	if !w.atLimit(k) || below <= w.noiseV.step/2+belowSigmas*w.noiseV.sd() {
		return false
	}
	rate := float64(w.law.RampRate(k.Limit.Over(w.area)))
	seconds := max(1, w.riseShows(rate))
	old := w.before(seconds)
	return below > limitHolds || float64(k.Volts)-old.v > lowRise*rate*(float64(k.T)-old.t)
}

// wanders are the scatters of the slow noise by which a current may leave it and stay away
// for a second: gas in the bath does that, and the fall that it makes goes on for nothing.
const wanders = 6

// wander is how far that is, A.
func (w *Watch) wander(amperes float64) float64 {
	return wanders * w.sway.relative() * amperes
}

// finestStep is below what the meters of such supplies resolve.
const finestStep = 1e-4 // A

// readSteps is the step of the reading, which may be finer than that of the setpoint.
func (w *Watch) readSteps() float64 {
	if w.noiseI.step == 0 {
		return w.stepAmperes()
	}
	return max(w.noiseI.step, finestStep)
}

// fallBefore is how fast the current fell before a moment, in A/s, and no faster than the
// law: what fell faster need not go on so. 0 where that is not well known or is no decay.
func (w *Watch) fallBefore(moment, from, amperes float64) float64 {
	var l sums
	first := moment
	for n := range w.ring.n {
		s := w.ring.at(n)
		if s.t > moment+1e-9 {
			continue
		}
		if moment-s.t > fallTime+1e-9 {
			break
		}
		first = s.t
		l.add(s.t, s.i)
	}
	late := (from - fallTime/2) / from // it is measured about the middle of its time
	fall := -l.line().slope * late * late
	if moment-first < 0.8*fallTime || first < w.decay.start || !(fall*fallTime >= fallSteps*w.readSteps()) || fall*from > mostOfFall*amperes {
		return 0
	}
	return min(fall, amperes/from)
}
