package watch

import (
	"math"

	"anodized/controller/fault"
)

// supply judges what the supply does against what it was told: a short, volts that
// do not follow, readings that stand still.
type supply struct {
	sets       [32]setAt // setpoints as commanded, ring
	n          int
	highest    float64 // highest setpoint of this stage that is old enough to judge
	shorted    int     // readings in a row that show a short
	lowFrom    float64 // since when the contact check shows low volts at the limit
	lowSince   float64 // since when the volts do not follow
	aheadSince float64 // since when the setpoint stands ahead of them without the current limit
	droopedAt  float64 // when the volts began to be away
	drooped    bool    // they are away, and it was told
	sameV      still
	sameI      still
	heldAt     float64 // when the limit held the current of a hold last
}

type setAt struct{ t, v float64 }

// still is how long a reading has been the same to the last digit.
type still struct {
	value, since, set float64
	started           bool
}

// frozen tells whether the reading has been the same to the last digit for too long.
func (s *still) frozen(now float64) bool { return s.started && now-s.since >= frozenSeconds }

func (s *supply) reset() {
	*s = supply{lowFrom: math.NaN(), heldAt: math.Inf(-1), lowSince: math.NaN(), aheadSince: math.NaN()}
}

// asked keeps the setpoint that was in force at a tick.
func (s *supply) asked(k Tick) {
	s.sets[s.n%len(s.sets)] = setAt{float64(k.T), float64(k.Set)}
	s.n++
}

// setBefore is the setpoint that was in force at a moment, 0 before all that is kept.
func (s *supply) setBefore(t float64) float64 {
	for m := 1; m <= min(s.n, len(s.sets)); m++ {
		if x := s.sets[(s.n-m)%len(s.sets)]; x.t <= t+1e-9 {
			return x.v
		}
	}
	return 0
}

// short: at the limit with volts that no film of this thickness can have at this
// current; in the contact check, at the limit and not rising.
func (w *Watch) short(k Tick) {
	limit := float64(k.Limit)
	atLimit := limit > 0 && float64(k.Amperes) >= 0.95*limit
	most := w.most.ShortShare
	if w.foreign.probing {
		most /= 2 // at half the limit a resistor takes half the volts
	}
	if atLimit && float64(k.Volts) < most*w.formed && w.formed > 1 {
		w.supply.shorted++
	} else {
		w.supply.shorted = 0
	}
	if w.supply.shorted >= 2 {
		w.shortened()
	}
	if w.low(k, atLimit) {
		w.shortened()
	}
}

// shortened ends the run for a short, whose readings are no growth that the regression
// could find a resistance in.
func (w *Watch) shortened() {
	w.spoilt = true
	w.raise(fault.ShortCircuit)
}

// following: volts stay below the highest setpoint of the stage although the
// current is not at its limit. The process holds the setpoint back meanwhile, so
// what counts is the setpoint that had been reached.
func (w *Watch) following(k Tick) {
	s := &w.supply
	judged := s.setBefore(float64(k.T) - float64(w.bench.Settle) - float64(w.bench.Tick))
	s.highest = max(s.highest, judged)
	margin := max(w.most.DroopVolts, w.most.DroopShare*s.highest) + 2*w.noiseV.step
	limited := k.Limited || float64(k.Amperes) >= 0.9*float64(k.Limit)
	low := s.highest-float64(k.Volts) > margin && !limited && judged > 0 && !w.climbing(k)
	if limited && s.highest-float64(k.Volts) > margin {
		s.highest = judged // the bath sets the pace: the setpoint stood ahead of it
	}
	w.standing(k)
	is := since(&s.lowSince, float64(k.T), low)
	if is >= 0.2-1e-9 {
		w.droops(k)
	} else if s.drooped && s.highest-float64(k.Volts) <= margin {
		w.comesBack(k)
	}
	if is >= w.most.DroopTime-1e-9 {
		w.raise(fault.SupplyNotFollowing)
	}
}

// aheadVolts is how far the setpoint stands ahead of volts that do not follow it: above
// what settling and the median of the readings make of a ramp of 1 V/s, and below the
// 0.5 V at which the process holds the setpoint back.
const aheadVolts = 0.3

// standing: the process holds the setpoint back in front of volts that do not come,
// so that the gap stays small for ever. Before the goal is asked for, volts that
// stand below the setpoint for as long as a dip may last are not following. Volts that fall
// have not stood: a fast ramp is always so far ahead, and one that climbs and falls at once
// has the slope of one that stands. At 1 V/s that is told 2.3 s after the output stopped
// (0.3 V, then the longest dip of the mains), and settling. Nothing else holds back a supply
// below its current limit: growth at the limit is told by the limit, and the slowest supply
// slews 0.5 V in a tenth of a second.
func (w *Watch) standing(k Tick) {
	limited := k.Limited || float64(k.Amperes) >= 0.9*float64(k.Limit)
	ahead := float64(k.Set)-w.medianV.value() > aheadVolts && float64(k.Set) < w.goal(k)-0.01
	waiting := since(&w.supply.aheadSince, float64(k.T), ahead && !limited && k.Phase != PhaseHold)
	if long := w.most.DroopTime; waiting >= long-1e-9 && math.Abs(w.rise(float64(k.T), long)) < 0.1*float64(w.book.rate) && !w.climbing(k) &&
		w.highest(float64(k.T), long)-float64(k.Volts) < aheadVolts {
		w.raise(fault.SupplyNotFollowing)
	}
}

// goal is the voltage that the phase leads to.
func (w *Watch) goal(k Tick) float64 {
	if k.Phase == PhaseContactCheck || len(w.plan.Stages) == 0 {
		return float64(w.plan.ContactCheck.Volts)
	}
	return float64(w.plan.Stages[min(w.stage, len(w.plan.Stages)-1)].TargetVolts)
}

// climbing tells whether the volts rise with the setpoint again: a supply that comes
// back from a dip follows, although it is still below where it had been.
func (w *Watch) climbing(k Tick) bool {
	old := w.ring.at(min(w.ring.n-1, 15))
	for n := range min(w.ring.n, 16) {
		if s := w.ring.at(n); float64(k.T)-s.t >= 0.5 {
			old = s
			if float64(k.T)-s.t >= 1.5 {
				break
			}
		}
	}
	rise := float64(k.Volts) - old.v
	return rise > max(0.3*float64(w.book.rate)*(float64(k.T)-old.t), 2*w.noiseV.step)
}

// push tells for how long a value has been the same.
func (s *still) push(t, value, set float64) float64 {
	if !s.started || value != s.value {
		*s = still{value: value, since: t, set: set, started: true}
	}
	return t - s.since
}

// stuck: volts the same to the last digit while the setpoint moved five steps, or amperes
// while the decay must have moved them.
func (w *Watch) stuck(k Tick) {
	t := float64(k.T)
	set := w.supply.setBefore(t - float64(w.bench.Settle) - float64(w.bench.Tick))
	step := max(w.noiseV.step, float64(w.bench.VoltStep))
	if w.noiseV.step == 0 {
		step = max(step, 0.1)
	}
	long := w.supply.sameV.push(t, float64(k.Volts), float64(k.Set))
	// something else holds the volts below the setpoint, since before they stood still: a
	// reading that stands is left behind by a setpoint that goes on for a little
	held := k.Limited || w.supply.lowSince <= w.supply.sameV.since
	if k.Phase == PhaseHold && w.held(k) {
		w.supply.heldAt = t
	}
	same := w.supply.sameI.push(t, float64(k.Amperes), float64(k.Set))
	if long > w.most.StuckTime && math.Abs(set-w.supply.sameV.set) > w.most.StuckSteps*step && !held || same > w.most.StuckTime && w.amperesStuck(k) {
		w.raise(fault.ReadbackStuck)
	}
}
