package watch

import (
	"math"

	"anodized/controller/fault"
)

// steady judges the current of an even ramp by itself. Growth draws the same current
// at all volts then, so that a fall is a part that draws none any more. It sees what
// the ratio of charge to film misses where the volts are read in coarse steps.
type steady struct {
	since    float64 // the same sets the current since, ramp or limit
	paced    bool    // the limit
	lowSince float64
	changes  changes
}

func (s *steady) reset() { *s = steady{since: math.NaN(), lowSince: math.NaN()} }

const (
	steadySeconds = 8.0 // after a start or a limit, when the current has come to its level
	fallLately    = 1.0 // s of the newest mean
	fallFrom      = 3.5 // s ago begins what it is compared with; with series resistance a fall takes three
	fallTo        = 6.0

	mostLearned = 0.05 // of one change: the start of a ramp is no scatter

	sureSlope  = 20.0 // scatters of the slope of a film: a change of a twentieth is none
	slowLately = 3.0  // the same at the limit, where the slope of the volts is judged
	slowFrom   = 3.5
	slowTo     = 8.0
)

// evenRamp is the detector's share of a tick in the ramp. What is judged is the current
// where the volts lead, and the current over the growth of the film at the limit.
func (w *Watch) evenRamp(k Tick) {
	s, now, newest := &w.steady, float64(k.T), w.ring.at(0)
	paced := w.paced(k)
	uneven := paced != s.paced || w.moved(newest.v) || w.ring.n > 1 && newest.t-w.ring.at(1).t > heldTicks*max(0.1, float64(w.bench.Tick))
	s.paced = paced
	if uneven {
		s.changes = changes{}
	}
	if since(&s.since, now, !uneven) < steadySeconds || newest.v < judgedVolts {
		s.lowSince = math.NaN()
		return
	}
	lately, before, unsure := w.drawn(now, 0, fallLately), w.drawn(now, fallFrom, fallTo), 0.0
	if paced {
		lately, before, unsure = w.growths(now)
	}
	if !(before > 0) || math.IsNaN(lately) {
		s.lowSince = math.NaN()
		return
	}
	change := lately/before - 1
	s.changes.push(now, max(-mostLearned, min(mostLearned, change)))
	threshold := max(max(w.most.LostShare, w.share()), 6*max(s.changes.scatter(s.prior()), swayInMean*w.sway.relative()))
	if paced {
		threshold = max(1.3*threshold, 6*unsure) // the slope of a film also bends with the law
	}
	climbs := paced || w.rise(now, 0.5) > 0.5*float64(w.book.rate) // volts that stand need less current, too
	if since(&s.lowSince, now, climbs && change < -threshold) >= 0.5-1e-9 {
		w.found.add(fault.ContactLost, now, "likely", 1+change, newest.v)
		w.raise(fault.ContactLost)
	}
}

// drawn is the mean current between two ages, NaN where there is none.
func (w *Watch) drawn(now, from, to float64) float64 {
	sum, n := 0.0, 0.0
	for k := range w.ring.n {
		s := w.ring.at(k)
		if age := now - s.t; age > to {
			break
		} else if age >= from {
			sum, n = sum+s.i, n+1
		}
	}
	return sum / n
}

// growths are the current over the growth of the film lately and before, and how unsure
// their ratio is.
func (w *Watch) growths(now float64) (lately, before, unsure float64) {
	lately, a := w.perGrowth(now, 0, slowLately)
	before, b := w.perGrowth(now, slowFrom, slowTo)
	return lately, before, math.Hypot(a, b)
}

// perGrowth is the current over the growth of the film between two ages, A s/nm, with its
// relative scatter; NaN where the noise hides the growth, as where a leak takes nearly all
// that the limit gives.
func (w *Watch) perGrowth(now, from, to float64) (ratio, unsure float64) {
	var film sums
	for k := range w.ring.n {
		s := w.ring.at(k)
		if age := now - s.t; age > to {
			break
		} else if age >= from {
			film.add(s.t, s.film)
		}
	}
	if l := film.line(); l.slope > 0 && l.sure(sureSlope) {
		return w.drawn(now, from, to) / l.slope, l.spread / (l.width * l.slope)
	}
	return math.NaN(), math.NaN()
}

// prior is the scatter believed before any was seen: a slope scatters more than a mean.
func (s *steady) prior() float64 {
	if s.paced {
		return 0.03
	}
	return 0.01
}
