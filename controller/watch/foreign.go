package watch

import (
	"math"

	"anodized/controller/fault"
)

// foreign finds a metal that grows no film: the supply at its limit, and volts that
// stand. It then asks for a second point at half the limit. A line through both that
// meets zero current at more than a volt is electrolysis; one through zero is metal
// on metal.
type foreign struct {
	since   float64 // volts stand at the limit since; NaN while they do not
	probing bool    // half the limit is asked for
	asked   float64 // when
	halved  float64 // when the limit was seen halved; NaN before
	v, i    float64 // the first point, without what the film draws
	limit   float64 // A, then
	next    float64 // no other question before
}

func (f *foreign) reset() { *f = foreign{since: math.NaN(), halved: math.NaN(), asked: math.NaN()} }

// The thresholds of a foreign metal.
const (
	leftLimit         = 0.85  // of the limit: one reading below it, as in a dip of the mains, and the wait begins anew
	standSeconds      = 2.4   // s, with the second point three and a half in all
	probeSeconds      = 0.6   // s at half the limit, longer than any meter averages
	probeWait         = 1.5   // s for the limit to be halved; a curve from elsewhere never does
	splitsWater       = 1.2   // V, 1.23 V reversible splitting of water, from memory
	mostElectrode     = 6.0   // V, more than any electrode takes to make gas: it is the film that stands
	leastShareOfVolts = 0.1   // what the film still draws lifts the crossing of a mere resistor by a few per cent
	platesVolts       = 4.0   // V without series drop, below which steel plates work as anode
	shortVolts        = 15.0  // V, above them a resistor is a leak, which others judge
	probePause        = 30.0  // s
	nearTarget        = 0.985 // of it: a meter that reads little shows volts that stand there, too
	answeredBelow     = 0.8   // of the limit that was halved
)

// Probe tells whether half of the current limit is asked for, to tell electrolysis
// from metal on metal. It lasts two seconds at most.
func (w *Watch) Probe() bool { return w.foreign.probing }

// probed tells whether a reading is of such a second, or of the one after, in which the
// volts come back: it says nothing of a film that grows.
func (f *foreign) probed(now float64) bool {
	return f.probing || f.next > 0 && now < f.next-probePause+comesBack
}

// comesBack is how long the volts take, s.
const comesBack = 1.0

// wetted is the detector's share of a tick, in every phase: what falls into the bath may do so in the hold.
func (w *Watch) wetted(k Tick) {
	f, now := &w.foreign, float64(k.T)
	if k.Limit <= 0 {
		f.since, f.probing = math.NaN(), false
		return
	}
	if f.probing {
		w.second(k)
		return
	}
	limit, i, v := float64(k.Limit), w.medianI.value(), w.medianV.value()
	below := k.Limited || v < float64(k.Set)-0.3
	atLimit := i >= 0.95*limit && w.ring.at(0).i >= leftLimit*limit && v > splitsWater && below
	if since(&f.since, now, atLimit) < standSeconds-1e-9 || now < f.next {
		return
	}
	carried := float64(w.law.RampRate(k.Limit.Over(w.area)))
	if rise := w.rise(now, standSeconds); rise < w.most.StandsShare*carried && !w.fellOnce(now, carried) {
		film := limit * max(0, rise) / carried // what the film still draws
		f.probing, f.asked, f.halved = true, now, math.NaN()
		f.v, f.i, f.limit = v, i-film, limit
	}
}

// rise is the slope of the volts over the last seconds, V/s; large before they are there.
func (w *Watch) rise(now, seconds float64) float64 {
	var l sums
	for n := range w.ring.n {
		s := w.ring.at(n)
		if now-s.t > seconds+1e-9 {
			break
		}
		l.add(s.t, s.v)
	}
	if slope := l.line().slope; !math.IsNaN(slope) {
		return slope
	}
	return math.Inf(1)
}

// second waits for the point at half the limit, and judges.
func (w *Watch) second(k Tick) {
	f, now := &w.foreign, float64(k.T)
	if float64(k.Limit) < 0.7*f.limit && math.IsNaN(f.halved) {
		f.halved = now
	}
	switch {
	case now-f.halved >= probeSeconds-1e-9:
		i := w.medianI.value()
		// half of the limit is held, and the readings do not know it: bath and leads alone take
		// volts in proportion
		if i > answeredBelow*f.limit || w.supply.sameV.since < f.asked {
			f.probing, f.since, f.next = false, math.NaN(), now+probePause
			w.raise(fault.ReadbackStuck)
			return
		}
		w.classify(now, (w.medianV.value()*f.i-f.v*i)/(f.i-i), true)
	case math.IsNaN(f.halved) && now-f.asked >= probeWait, now-f.asked > 2*probeWait:
		w.classify(now, math.NaN(), false)
	}
}

const standing = "the volts stand at %.1f V while %.3g A flow: a film carries the limit from %.1f V on and grows no more, or a path beside it does"

// standingFilm: the film itself carries the limit and grows no more.
func (w *Watch) standingFilm(now, intercept float64) {
	if w.foreign.v > sparkVolts && w.foreign.v < nearTarget*float64(w.plan.TargetVolts) {
		w.found.say(fault.Breakdown, now, "possible", standing, w.foreign.v, w.foreign.i, intercept)
		w.raise(fault.Breakdown)
	}
}

// classify names what takes the current. Without the second point low volts stand
// for electrolysis, and it is no more than possible.
func (w *Watch) classify(now, intercept float64, probed bool) {
	f := &w.foreign
	f.probing, f.since, f.next = false, math.NaN(), now+probePause
	sure := "likely"
	if !probed {
		sure = "possible"
	}
	if intercept > mostElectrode {
		w.standingFilm(now, intercept)
		return
	}
	metal := intercept > max(splitsWater, leastShareOfVolts*f.v) || !probed && f.v < shortVolts && f.v > w.series()*f.i+splitsWater
	switch {
	case metal && probed && w.book.phase == PhaseContactCheck && f.v-w.series()*f.i < platesVolts:
		w.found.add(fault.PolaritySwapped, now, sure, f.i, f.v, intercept)
		w.raise(fault.PolaritySwapped)
	case metal:
		w.found.add(fault.ForeignMetalWetted, now, sure, f.i, f.v, intercept)
		w.raise(fault.ForeignMetalWetted)
	case probed && f.v < shortVolts:
		w.raise(fault.ShortCircuit)
	}
}
