package watch

import "math"

// pause is the last gap in the readings. What happened in it was not seen, and a
// setpoint that was held back meanwhile bends the current when it goes on: a fall or
// a rise across a gap, or just after one, proves nothing.
type pause struct {
	last  float64 // s, of the last reading; NaN before
	ended float64 // s, first reading after the last gap; -Inf before any
}

func (p *pause) reset() { *p = pause{last: math.NaN(), ended: math.Inf(-1)} }

const (
	gapTicks   = 1.6 // ticks between readings make a gap; one of them may be late by half
	gapSettles = 1.0 // s after a gap in which the current comes back to its course
)

// pauses notes whether a gap ends with this reading, and begins afresh what compares
// the newest second or two with what was before.
func (w *Watch) pauses(k Tick) {
	p, now := &w.pause, float64(k.T)
	gap := now-p.last > gapTicks*max(0.1, float64(w.bench.Tick))
	p.last = now
	if !gap {
		return
	}
	p.ended = now
	w.blips.sign, w.blips.since = 0, math.NaN()
	w.contact.lowSince, w.contact.kept.since = math.NaN(), math.NaN()
	w.contact.rampStart = now
	w.steady.lowSince = math.NaN()
	w.supply.sameV.started, w.supply.sameI.started = false, false
}

// seenThrough tells whether no gap lies between then and now.
func (w *Watch) seenThrough(then float64) bool { return w.pause.ended <= then }
