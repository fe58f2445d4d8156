package watch

import (
	"math"

	"anodized/controller/fault"
)

// spoilers are what the regression of area.go does not know of: with one of these
// among the readings it still finds a series resistance, and a wrong one.
var spoilers = [...]fault.Code{fault.ContactLost, fault.ContactIntermittent, fault.PartMissing,
	fault.OxideAlreadyPresent, fault.MixedRack, fault.ForeignMetalWetted}

// doubt remembers that what spoils the series resistance was found while readings
// still went into it: in a hold none does.
func (w *Watch) doubt(k Tick) {
	if w.spoilt || k.Phase == PhaseHold {
		return
	}
	for _, code := range spoilers {
		w.spoilt = w.spoilt || w.found.has(code)
	}
}

// The series resistance is judged and told by the balance where that knows it: in the bend
// from ramp to hold the current falls while the volts stand, which tells leads and bath
// from a film as no ramp does. Against the plant (SIMULATED, 300 loads in good order) it
// reads 0.83 to 1.11 of the truth in nine loads of ten, the regression of a ramp 0.22 to
// 1.09.
const (
	bendTells   = 10.0 // s of a hold
	bentEnough  = 0.25 // of the current with which it began
	knownSeries = 0.25 // relative standard deviation
)

// ohms is the series resistance as the readings show it; not a number where they do
// not support one.
func (w *Watch) ohms() float64 {
	b := &w.balance
	switch {
	case w.spoilt:
		return math.NaN()
	case b.one > 0 && math.Sqrt(b.p[2][2]) < knownSeries*b.x[2]:
		return b.x[2]
	}
	return w.live.series
}

// misleads are what the balance mistakes for bath and leads. An oxide that was there before
// is none of them: a bath that resists much looks like one in the ramp.
var misleads = [...]fault.Code{fault.ContactIntermittent, fault.MixedRack, fault.ForeignMetalWetted}

// resistance compares it with what is expected of the bath, once a hold: where the current
// has fallen to a quarter. After ten seconds, as it was once, a slow ramp has left two thirds
// of it, and what is known of the resistance is half as good. SIMULATED, 300 loads with 0.1
// to 0.4 and 300 with 2.5 to 6 times the resistance: 264 of 264 and 264 of 264 that it could
// show in are told, 255 and 258 were.
func (w *Watch) resistance(now float64) {
	if d := &w.decay; now-d.start >= bendTells && w.medianI.value() < bentEnough*d.current {
		w.judgeSeries(now)
	}
}

// judgeSeries does so; a hold that ends before its current fell that far is judged at its
// end. One standard deviation of doubt is its own.
func (w *Watch) judgeSeries(now float64) {
	b, expected := &w.balance, w.series()
	if w.book.judgedSeries || b.one == 0 || !(expected > 0) || !(now-w.decay.start >= bendTells) {
		return
	}
	w.book.judgedSeries = true
	for _, code := range misleads {
		if w.found.has(code) {
			return
		}
	}
	seen, sd := b.x[2], math.Sqrt(b.p[2][2])
	switch {
	case seen-sd > w.most.MostSeries*expected:
		w.found.add(fault.BathResistanceHigh, now, "possible", seen, expected)
	case seen+sd < w.most.LeastSeries*expected:
		w.found.add(fault.BathResistanceLow, now, "possible", seen, expected)
	}
}
