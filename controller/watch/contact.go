package watch

import "math"

// contact keeps the charge that a nanometre of film takes, which is the area, for those
// who compare it by volts, and finds a whole rack that falls off.
type contact struct {
	goneSince float64 // when nearly all current was gone; NaN while it is not
	rampStart float64
	phase     Phase // that the judged ramp is part of
	changes   changes
}

func (c *contact) reset() { *c = contact{goneSince: math.NaN(), rampStart: math.NaN()} }

// changes learns how much the judged change scatters while nothing happens: by how much
// it differs from what it was a moment before, so that the slow turn of a ramp that has
// just begun is not taken for noise. What is being judged now is left out: a change
// counts only once it is two seconds old.
type changes struct {
	waiting [48]struct{ t, x float64 }
	in, out int
	before  int     // of the one that the oldest is compared with
	power   float64 // running mean square, of one change
	n       float64
}

const (
	memory       = 200 // changes that the running mean remembers: about 20 s
	judgedAfter  = 2.0 // s
	lagOfChanges = 1.5 // s, longer than the windows of the means: the two know nothing of each other
)

func (c *changes) push(t, x float64) {
	size := len(c.waiting)
	c.waiting[c.in%size] = struct{ t, x float64 }{t, x}
	c.in++
	c.out, c.before = max(c.out, c.in-size), max(c.before, c.in-size)
	for c.out < c.in && t-c.waiting[c.out%size].t >= judgedAfter {
		old := c.waiting[c.out%size]
		for c.before < c.out && old.t-c.waiting[(c.before+1)%size].t >= lagOfChanges {
			c.before++
		}
		if was := c.waiting[c.before%size]; old.t-was.t >= lagOfChanges {
			c.n = min(c.n+1, memory)
			c.power += ((old.x-was.x)*(old.x-was.x)/2 - c.power) / c.n
		}
		c.out++
	}
}

// scatter is the standard deviation of the change; a start of it until enough has
// been seen.
func (c *changes) scatter(start float64) float64 {
	const enough = 40
	if c.n >= enough {
		return math.Sqrt(c.power)
	}
	return math.Sqrt((c.power*c.n + start*start*(enough-c.n)) / enough)
}

// mostShare is the largest fall that is asked for: racks of many parts are judged by
// less without a false alarm, and a fall that bath and leads soften is seen in time.
const mostShare = 0.06

// share is the part of the rack that half of its smallest part is.
func (w *Watch) share() float64 {
	if w.plan.SmallestPart <= 0 {
		return mostShare
	}
	return min(mostShare, 0.5*float64(w.plan.SmallestPart)/w.decl)
}

// since keeps the moment from which a condition has been true, NaN while false.
func since(start *float64, now float64, is bool) float64 {
	switch {
	case !is:
		*start = math.NaN()
	case math.IsNaN(*start):
		*start = now
	}
	if math.IsNaN(*start) {
		return -1
	}
	return now - *start
}

// The thresholds of a whole rack that falls off.
const (
	goneShare   = 0.1  // of the current that must flow
	goneSeconds = 0.15 // s, three readings at ten a second: no growth falls like that
)

// gone judges whether nearly all of the predicted current is gone while the
// voltage stands: then the whole rack fell off, not the voltage. A filter would only
// be late here.
func (w *Watch) gone(s *sample, predicted float64) {
	stands := s.v > 0.995*w.peak-0.05
	visible := !math.IsNaN(w.contact.goneSince) || predicted > 10*max(w.scatterI, w.stepAmperes())
	is := stands && visible && s.i < goneShare*predicted
	if since(&w.contact.goneSince, s.t, is) >= goneSeconds-1e-9 {
		w.lost(s.t, "certain", s.i/predicted, s.v)
	}
}

func (w *Watch) stepAmperes() float64 {
	return max(w.noiseI.step, float64(w.bench.AmpereStep))
}

// rampContact works out the charge that a nanometre of film takes now, and how much it
// scatters. It is the area, so it holds in ramps at any pace and while the current is
// limited.
func (w *Watch) rampContact(k Tick) {
	now := float64(k.T)
	if math.IsNaN(w.contact.rampStart) || w.contact.phase != k.Phase {
		w.contact.rampStart, w.contact.phase = now, k.Phase // a new pace bends volts and current
	}
	newest := w.ring.at(0)
	if newest.v < 0.99*w.peak-0.2 { // below what was reached a film draws nothing: judge afresh
		w.contact.rampStart = now
		return
	}
	newest.ratio, newest.whole = w.ratio(now, w.paced(k))
	if newest.v < judgedVolts || math.IsNaN(newest.ratio) {
		return
	}
	if mean, ok := w.history(now); ok {
		w.contact.changes.push(now, newest.ratio/mean-1)
	}
}

// The windows of the contact ratio.
const (
	currentWindow = 0.6 // s of the current: long enough for the noise, short enough for a part
	slopeWindow   = 1.5 // s of its slope, and of the film's at the current limit
	slowWindow    = 3.0 // s of the latter where the film grows slowly
	voltsWindow   = 4.0 // s of the slope of volts that the supply leads: a lost part does not bend them
	stillClimbs   = 0.5 // of that slope, lately: volts that stand need less current, too
	leastGrowth   = 0.5 // of the slope: where a rising current over the series resistance takes more, no ratio is left
	trustedSeries = 0.7 // of the series resistance: one too high makes a fall of any noise
)

// window is the time over which the slope of the film is taken at the current limit.
func (w *Watch) window() float64 {
	if w.book.rate >= 0.5 {
		return slopeWindow
	}
	return slowWindow
}

// ratio is I over the growth of the film's volts, A s/V: the area. Not a number where
// the film hardly grows or the voltage is coming back from somewhere. Whole is the same
// with all of the series resistance that is seen: truer, and noisier.
func (w *Watch) ratio(now float64, paced bool) (ratio, whole float64) {
	var volts, lately, amperes sums
	current, n := 0.0, 0.0
	window, long := w.window(), voltsWindow
	if paced {
		long = window
	}
	long = min(long, now-w.contact.rampStart)
	if !w.seenThrough(now - long) {
		return w.unevenRatio(now, long)
	}
	for k := range w.ring.n {
		s := w.ring.at(k)
		age := now - s.t
		if age > long {
			break
		}
		volts.add(s.t, s.v)
		if age <= window {
			amperes.add(s.t, s.i)
			lately.add(s.t, s.v)
		}
		if age <= currentWindow+1e-9 {
			current, n = current+s.i, n+1
		}
	}
	if amperes.n < 5 || now-w.contact.rampStart < window+0.5 {
		return math.NaN(), math.NaN()
	}
	rate, climb := float64(w.book.rate), volts.line().slope
	growth := climb - w.trusted()*amperes.line().slope
	if climb < 0.02*rate || climb > 1.5*rate+0.05 || lately.line().slope < stillClimbs*climb || !(growth > leastGrowth*climb) {
		return math.NaN(), math.NaN()
	}
	return current / n / growth, current / n / (climb - w.seenSeries()*amperes.line().slope)
}

// trusted is the series resistance that the ratio takes out of the volts.
func (w *Watch) trusted() float64 {
	if w.live.ok {
		return trustedSeries * min(w.series(), w.live.series)
	}
	return trustedSeries * w.series()
}

// history is the mean of the ratio two to six seconds ago.
func (w *Watch) history(now float64) (mean float64, ok bool) {
	n, sum := 0.0, 0.0
	for k := range w.ring.n {
		s := w.ring.at(k)
		age := now - s.t
		if age > 6 {
			break
		}
		if age < 2 || math.IsNaN(s.ratio) {
			continue
		}
		n, sum = n+1, sum+s.ratio
	}
	return sum / n, n >= 8
}

// rampGone looks for a whole rack that fell off while the ramp goes on: against what
// it drew in the second before, or against what must flow.
func (w *Watch) rampGone(k Tick) {
	s, rate := w.ring.at(0), float64(w.book.rate)
	old := w.ring.at(min(w.ring.n-1, 5))
	climbing := s.t > old.t && (s.v-old.v)/(s.t-old.t) > 0.3*rate
	if climbing && w.drew(s.v) {
		w.gone(s, max(0.5*w.expected, w.drewBefore(s.t)))
	} else {
		w.contact.goneSince = math.NaN()
	}
}

// The second before a rack fell off, as ages in s.
const goneTo, goneFrom = 0.5, 1.5

// drewBefore is what flowed in that second, 0 where that was not seen: a hold
// that has just begun loses no more of it, nor does a setpoint that waited for a late tick.
func (w *Watch) drewBefore(now float64) float64 {
	if before := w.drawn(now, goneTo, goneFrom); before > 0 && w.pause.long <= now-goneFrom {
		return before
	}
	return 0
}

// drew tells whether the rack must draw current at these volts: because it did
// before, or because nothing can still cover it. What never drew any was not lost.
func (w *Watch) drew(volts float64) bool {
	formed := float64(w.plan.ContactCheck.FormedVolts)
	seen := !math.IsNaN(w.onset) || formed > 0
	return seen && volts > max(1.1*formed+4, min(judgedVolts, 0.9*float64(w.plan.TargetVolts)))
}
