package watch

import "anodized/controller/fault"

// The thresholds of a loose contact and of a film that sparks.
const (
	chatterSeconds = 10.0 // s over which dips are counted
	sparks         = 4    // upward within
	sparkSeconds   = 4.0  // s
	sparkVolts     = 15.0 // below it no film breaks down
	judgedVolts    = 12.0 // below it a part's share is not told from the start of the growth
)

// course follows the current and judges what left it for a moment: dips are a
// contact that opens and closes, spikes a film that sparks.
func (w *Watch) course(k Tick) {
	s := w.ring.at(0)
	paced := since(&w.blips.paced, s.t, w.paced(k)) > longestBlip // a spark may touch the limit
	if k.Phase != PhaseRamp && k.Phase != PhaseHold || k.Phase != w.book.seen || paced || s.t < w.pause.ended+gapSettles {
		w.blips.corner(s.t, s.i)
		w.blips.calm = s.v
		w.book.seen = k.Phase
		return
	}
	step := w.stepAmperes()
	over := w.blips.push(s.t, s.i, step, w.dropped(s.v) || w.stood(k))
	if over == 0 || s.v < judgedVolts || w.blips.level < 4*step {
		return
	}
	even := k.Phase == PhaseRamp && float64(k.Set) < w.goal(k)-0.01
	if over < 0 || even && w.sunk(s.t) {
		w.dipped(s.t, even)
	} else {
		w.sparked(s.t, s.v)
	}
}

// paced tells whether the current limit sets the current: it shows nothing then.
func (w *Watch) paced(k Tick) bool {
	return k.Limited || k.Limit > 0 && float64(k.Amperes) > 0.97*float64(k.Limit)
}

// moved tells whether the volts are below where they had been: a tenth of a per
// cent makes two per cent of current.
func (w *Watch) moved(volts float64) bool {
	noise := min(3*w.noiseV.sd(), 0.002*w.peak) // a dip of the supply looks like noise, too
	return volts < w.peak-max(0.001*w.peak, 1.5*w.noiseV.step+noise)
}

// dropped tells whether the volts are below the last ones at which all was calm.
func (w *Watch) dropped(volts float64) bool {
	b := &w.blips
	noise := min(3*w.noiseV.sd(), 0.002*b.calm)
	if volts < b.calm-max(0.0005*b.calm, 1.2*w.noiseV.step+noise) {
		b.calm *= 1 - 0.0002 // volts that stay lower are the new calm within seconds
		return true
	}
	b.calm = volts
	return false
}

// stood tells whether the volts of a ramp stood still since the reading before, as where an
// answer was spoilt and the setpoint waited: the current sinks with them and comes back.
func (w *Watch) stood(k Tick) bool {
	s, old := w.ring.at(0), w.ring.at(1)
	due := float64(w.book.rate) * (s.t - old.t)
	return k.Phase == PhaseRamp && s.v-old.v < stoodShare*due-2*w.noiseV.step
}

// stoodShare is of what the volts were to rise; noise may hide so much.
const stoodShare = 0.5

// The seconds, as ages, whose current a spike is held against.
const sunkTo, sunkFrom = 4, 7

// sunk tells whether a spike only came back to what an even ramp drew some seconds ago: a
// contact that is open most of the time takes the course down with it.
func (w *Watch) sunk(now float64) bool {
	before := w.drawn(now, sunkTo, sunkFrom)
	return w.seenThrough(now-sunkFrom) && w.blips.level < before && w.blips.top < before*(1+w.blips.band())
}

// dipped counts a dip. In an even ramp one is told; in a hold, where the current bends
// and sinks to few steps of the reading, two are.
func (w *Watch) dipped(now float64, even bool) {
	b := &w.blips
	b.downs.push(now)
	n := b.downs.lately(now, chatterSeconds)
	if even || n >= 2 {
		w.found.add(fault.ContactIntermittent, now, "likely", w.medianV.value(), 100*b.band())
	}
	if float64(n) >= w.most.Dips {
		w.raise(fault.ContactIntermittent)
	}
}

// sparked counts spikes upward. A contact that regains shows as many dips.
func (w *Watch) sparked(now, volts float64) {
	b := &w.blips
	b.ups.push(now)
	n := b.ups.lately(now, sparkSeconds)
	if volts > sparkVolts && n >= sparks && n > 2*b.downs.lately(now, sparkSeconds) {
		w.found.add(fault.Breakdown, now, "likely", volts, float64(n), sparkSeconds)
		w.raise(fault.Breakdown)
	}
}
