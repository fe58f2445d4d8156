package watch

import "math"

// pause is the last gap in the readings. What happened in a long one was not seen, and a
// setpoint that was held back meanwhile bends the current when it goes on: a fall or
// a rise across it, or just after it, proves nothing.
type pause struct {
	last  float64 // s, of the last reading; NaN before
	ended float64 // s, first reading after the last gap; -Inf before any
	long  float64 // s, the same of a gap over which charge is not counted
}

func (p *pause) reset() { *p = pause{last: math.NaN(), ended: math.Inf(-1), long: math.Inf(-1)} }

const (
	gapTicks   = 1.6 // ticks between readings make a gap; one of them may be late by half
	gapSettles = 1.0 // s after a long gap in which the current comes back to its course
	// s, that it takes to climb back where the setpoint stood: V/(25 r) + R0 I/r is 2.9 s at
	// 70 V and 1 V/s, a share of which is left after two.
	heldSettles = 2.0
	unseenShare = 0.3 // of the charge of a gap longer than a late tick, that may be wrong
)

// guessed is how much of the charge since the last reading is a guess, C: a current that
// sinks or rises in a gap does so along a bend, which lies between its ends.
func (w *Watch) guessed(s *sample) float64 {
	dt := s.t - w.charge.t
	if !w.charge.started || !(dt > gapTicks*max(0.1, float64(w.bench.Tick))) {
		return 0
	}
	guess := 0.5 * dt * math.Abs(s.i-w.charge.i)
	if dt > shortGap {
		guess = max(guess, unseenShare*dt*(s.i+w.charge.i)/2)
	}
	return guess
}

// pauses notes whether a gap ends with this reading, and begins afresh what compares
// the newest second or two with what was before.
func (w *Watch) pauses(k Tick) {
	p, now, tick := &w.pause, float64(k.T), max(0.1, float64(w.bench.Tick))
	last := p.last
	p.last = now
	if !(now-last > gapTicks*tick) {
		return
	}
	p.ended = now
	if now-last > longestGap {
		p.long = now
		w.supply.sameV.started, w.supply.sameI.started = false, false
		w.flicker.lost()
		w.contact.rampStart = now + heldSettles
	}
}

// seenThrough tells whether no gap lies between then and now.
func (w *Watch) seenThrough(then float64) bool { return w.pause.ended <= then }

// bridged tells whether no gap between then and now is too long to count the charge over:
// across a short one, as a late tick makes it, charge and current are known a little less,
// and the readings beside it stand where they were taken.
func (w *Watch) bridged(then float64) bool { return w.pause.long <= then }
