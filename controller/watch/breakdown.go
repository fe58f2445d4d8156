package watch

import (
	"math"

	"anodized/controller/fault"
)

// breakdown finds a film that breaks down by what growth never does: a current that
// rises at constant volts, and volts that sag at the current limit.
type breakdown struct {
	least    float64 // A, least filtered current of this hold
	volts    float64 // V, of the hold
	since    float64 // current above its least since; NaN while it is not
	from     float64 // A, the current then
	falls    moments // when the volts fell at the current limit
	falling  bool
	sagSince float64 // volts below what was formed, at the limit, since
	sagVolts float64
	phase    Phase
}

func (b *breakdown) reset() {
	*b = breakdown{least: math.NaN(), since: math.NaN(), sagSince: math.NaN()}
}

// The thresholds of a breakdown.
const (
	riseSeconds = 2.0  // s; a part ten volts behind has caught up in 1.4 s
	riseGoesOn  = 1.03 // within those seconds: a leak that began steps up once and stays
	sagBelow    = 0.98 // of the volts formed: a film carries no limit current there
	sagSeconds  = 1.0
	sagShare    = 0.4 // of the rate at which the limit's current forms a film
	mostSag     = 3.0 // s
)

// rising: in a hold the current climbs, and goes on climbing, while the volts stand.
func (w *Watch) rising(k Tick) {
	b, i, v := &w.breaking, w.medianI.value(), w.medianV.value()
	if k.Phase != PhaseHold || v < sparkVolts {
		b.least, b.since = math.NaN(), math.NaN()
		return
	}
	if math.IsNaN(b.least) || math.Abs(v-b.volts) > max(0.001*v, 2*w.noiseV.step+min(3*w.noiseV.sd(), 0.002*v)) {
		b.least, b.volts, b.since = i, v, math.NaN()
	}
	b.least = min(b.least, i)
	above := max(6*w.noiseI.sd(), 3*w.stepAmperes())
	if since(&b.since, float64(k.T), i > w.most.RiseOverLeast*b.least && i > b.least+above) == 0 {
		b.from = i
	}
	if float64(k.T)-b.since >= riseSeconds-1e-9 && !math.IsNaN(b.since) && i > riseGoesOn*b.from+above/3 {
		w.found.add(fault.Breakdown, float64(k.T), "likely", v, i, b.least)
		w.raise(fault.Breakdown)
	}
}

// sagging: at the limit, volts that fall below those already formed and do not
// climb again. A part that regains contact climbs.
func (w *Watch) sagging(k Tick) {
	b, v, now := &w.breaking, w.medianV.value(), float64(k.T)
	atLimit := k.Limit > 0 && w.medianI.value() >= 0.95*float64(k.Limit)
	is := atLimit && w.formed > sparkVolts && v < sagBelow*w.formed && v > 0.8*w.formed && !w.foreign.probing
	held := since(&b.sagSince, now, is)
	if held == 0 {
		b.sagVolts = v
	}
	climbs := 2*w.noiseV.step + 0.002*v
	slow := climbs / (sagShare * float64(w.law.RampRate(k.Limit.Over(w.area)))) // s that a film takes for it where the limit makes little
	if held >= min(mostSag, max(sagSeconds, slow))-1e-9 {
		if v < b.sagVolts+climbs {
			w.found.say(fault.Breakdown, now, "possible", "the volts sag at the current limit to %.1f V; %.1f V were formed", v, w.formed)
			w.raise(fault.Breakdown)
		}
		b.sagSince = math.NaN() // it climbs: look again
	}
}

const (
	fallOfSpark  = 0.01 // of the volts of the second before: at the limit a growing film only climbs
	fallsOfSpark = 3    // within sparkSeconds; a part that regains contact makes one
)

const sparked = "the film sparks at %.1f V: %.0f times in %.0f s"

// sparksAtLimit counts sparks that the current limit hides: the volts fall instead.
func (w *Watch) sparksAtLimit(k Tick) {
	b, s := &w.breaking, w.ring.at(0)
	before := w.ring.at(min(1, w.ring.n-1))
	full := 0.9 * float64(k.Limit)
	if k.Limit <= 0 || w.foreign.probing || w.formed < sparkVolts || k.Phase != b.phase || !w.bridged(s.t-gapSettles+1e-9) {
		b.phase, b.falling = k.Phase, false
		return
	}
	drop := w.highest(s.t, 1) - s.v
	least := max(fallOfSpark*w.formed, 3*w.noiseV.step)
	if !b.falling && (s.i >= full || before.i >= full) && drop > least {
		b.falls.push(s.t)
	}
	b.falling = drop > least && s.v < before.v+least/2
	if b.falls.lately(s.t, sparkSeconds) >= fallsOfSpark {
		w.found.say(fault.Breakdown, s.t, "likely", sparked, s.v, float64(fallsOfSpark), sparkSeconds)
		w.raise(fault.Breakdown)
	}
}

// highest are the highest volts of the last seconds.
func (w *Watch) highest(now, seconds float64) float64 {
	top := math.Inf(-1)
	for n := range w.ring.n {
		s := w.ring.at(n)
		if now-s.t > seconds {
			break
		}
		top = max(top, s.v)
	}
	return top
}
