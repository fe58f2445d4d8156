package watch

import (
	"math"

	"anodized/controller/fault"
)

// leak sees in the ramp what passes the films in proportion to the volts. Growth
// draws the same current at all volts.
type leak struct{ line sums }

// climbingCurrent takes a reading of a ramp that the supply's volts lead, once the
// growth of the start is over.
func (w *Watch) climbingCurrent(k Tick) {
	s := w.ring.at(0)
	target := float64(w.plan.TargetVolts)
	if w.paced(k) || s.v < max(15, 0.3*target) || s.v > 0.95*target {
		return
	}
	w.leak.line.add(s.v, s.i+w.above)
}

// overRamp is the leak at these volts as the ramp showed it, NaN where it was too
// short to tell.
func (w *Watch) overRamp(volts float64) float64 {
	l := &w.leak.line
	if l.n < 20 || l.tt/l.n-math.Pow(l.t/l.n, 2) < 4 { // less than 7 V
		return math.NaN()
	}
	return l.line().slope * volts
}

// floors names a current that does not die away. A wet path draws it in the ramp
// too, in proportion to the volts; a film that dissolves does not. Neither is certain.
func (w *Watch) floors(now float64) {
	floor, end := w.decay.leak, w.end()
	if !(floor > w.most.FloorDensity*1e-3*w.decl) {
		return
	}
	ramp := w.overRamp(w.medianV.value())
	switch {
	case math.IsNaN(ramp):
		w.found.add(fault.LeakPlateau, now, "possible", floor, float64(end.Current))
		w.found.add(fault.FilmDissolving, now, "possible", floor, ramp)
	case ramp < floor/2:
		w.found.add(fault.FilmDissolving, now, "likely", floor, ramp)
		w.found.add(fault.LeakPlateau, now, "possible", floor, float64(end.Current))
	default:
		w.found.add(fault.LeakPlateau, now, "likely", floor, float64(end.Current))
	}
}
