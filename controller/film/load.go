package film

import (
	"fmt"
	"math"

	"anodized/hal/unit"
)

// Load is one load as the law sees it: like parts in parallel, leads and bath in
// series, a supply that ramps its set point and keeps its current limit.
type Load struct {
	Law    Law
	Area   unit.SquareCentimetres
	Series unit.Ohms
	Native unit.Nanometres     // film at the start, above 0
	Start  unit.Volts          // set point at the start; above 0 where an earlier stage ended there
	Check  Ramp                // the slow ramp of the contact check; a rate of 0 for none
	Target unit.Volts          // above Start
	Rate   unit.VoltsPerSecond // of the set point
	Limit  unit.Amperes
	End    End
}

// Ramp is a ramp of the set point to a voltage.
type Ramp struct {
	To   unit.Volts
	Rate unit.VoltsPerSecond
}

// End is an end criterion: a density that has lasted, or, where Time is above zero,
// a timed hold.
type End struct {
	Density   unit.CurrentDensity
	Sustained unit.Seconds
	Least     unit.Seconds
	Longest   unit.Seconds // 0: as long as it takes
	Time      unit.Seconds
}

// Outcome is how a load ends by the law.
type Outcome struct {
	CheckSeconds   unit.Seconds // of the contact check's ramp
	RampSeconds    unit.Seconds // from there until the supply's volts are at the target
	HoldSeconds    unit.Seconds
	LimitedSeconds unit.Seconds // of the ramps, at the current limit
	RampCurrent    unit.Amperes // at the end of the ramp: the plateau, or the limit
	RampDensity    unit.CurrentDensity
	EndCurrent     unit.Amperes
	EndDensity     unit.CurrentDensity
	Thickness      unit.Nanometres
	Charge         unit.Coulombs
	HeatKilojoules float64 // at the terminals
	HydrogenML     float64
	Limited        bool // the ramp ended at the current limit, later than its set point
	TimeRanOut     bool // the longest hold passed before the criterion was met
}

// Point is a moment of a load.
type Point struct {
	Time      unit.Seconds
	Volts     unit.Volts // at the terminals
	Amperes   unit.Amperes
	Thickness unit.Nanometres
	Charge    unit.Coulombs
}

// Run follows a load from bare metal, or an older film, to its end. The ramps are
// integrated with adaptive steps to a relative 1e-9 of the thickness, time at the
// current limit and the hold are in closed form. It is deterministic.
func Run(l Load) (Outcome, error) {
	return follow(l, nil)
}

// Trace returns the load at moments, in ascending order from 0; moments after its
// end are left out.
func Trace(l Load, at []unit.Seconds) ([]Point, error) {
	points := make([]Point, 0, len(at))
	observer := &observer{at: at, points: points}
	_, err := follow(l, observer)
	return observer.points, err
}

func follow(l Load, o *observer) (Outcome, error) {
	if err := l.check(); err != nil {
		return Outcome{}, err
	}
	b := newBody(l, o)
	if l.Check.Rate > 0 && l.Check.To < l.Target && l.Check.To > l.Start {
		b.ramp(float64(l.Check.To), float64(l.Check.Rate))
	}
	checked := b.time
	b.ramp(float64(l.Target), float64(l.Rate))
	ramped := b.now()
	out := Outcome{
		CheckSeconds: unit.Seconds(checked), RampSeconds: unit.Seconds(b.time - checked),
		LimitedSeconds: unit.Seconds(b.limited), Limited: b.late,
		RampCurrent: ramped.Amperes, RampDensity: ramped.Amperes.Over(l.Area),
	}
	b.hold(l, &out)
	return out, nil
}

func (l Load) check() error {
	for _, quantity := range []struct {
		name  string
		value float64
	}{
		{"i0 of the law in A/cm2", l.Law.I0}, {"B of the law in cm/V", l.Law.B},
		{"charge factor in nm cm2/C", l.Law.KF}, {"efficiency", l.Law.Efficiency},
		{"area in cm2", float64(l.Area)}, {"native film in nm", float64(l.Native)},
		{"target in V above the start", float64(l.Target - l.Start)},
		{"ramp in V/s", float64(l.Rate)}, {"current limit in A", float64(l.Limit)},
	} {
		if !(quantity.value > 0) || math.IsInf(quantity.value, 0) {
			return fmt.Errorf("follow a load: %s is %g, it must be above 0 and finite", quantity.name, quantity.value)
		}
	}
	if !(l.End.Density > 0) && !(l.End.Time > 0) {
		return fmt.Errorf("follow a load: it has no end: give a density above 0 mA/cm2 or a time above 0 s")
	}
	return nil
}
