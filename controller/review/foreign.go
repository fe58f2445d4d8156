package review

import (
	"fmt"
	"slices"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/replay"
)

// OfCurve reviews a curve from elsewhere against a plan that was made for it.
// Assumed says what of the plan was not given but taken: it is said in the review.
func OfCurve(c Curve, p plan.Plan, assumed []string) Review {
	rows, facts := c.Phased()
	v := Review{Simulated: c.Simulated, Usable: usable(p, rows), CannotShow: cannotShow(), Assumed: assumed}
	if !c.HasLimit {
		v.CannotShow = append(v.CannotShow, "a short circuit or a supply at its current limit: the curve has no limit_amperes")
	}
	if !c.HasSet {
		v.CannotShow = append(v.CannotShow, "volts that do not follow, or exceed, their setpoint: the curve has no set_volts")
	}
	r := replay.Of(paced(p, facts), facts.bench(p.End.Current), rows, rows[len(rows)-1].T)
	v.Ended = foreignEnd(p, r)
	if r.Seen && v.Usable.OK {
		r.CloseBy(v.Ended.Outcome, false, byTimeOf(v.Ended.Outcome))
	}
	v.judge(r, nil)
	v.Trace = r.Trace
	if v.Usable.OK {
		v.Estimates = estimatesOf(p, r.Watch)
		v.withoutOhms()
	}
	return v
}

// paced gives a plan the pace that the curve really had: what current to expect
// hangs on it.
func paced(p plan.Plan, f Facts) plan.Plan {
	p.Stages = slices.Clone(p.Stages)
	for i := range p.Stages {
		p.Stages[i].Ramp = f.Ramp
	}
	if f.CheckRamp > 0 {
		p.ContactCheck.Ramp = f.CheckRamp
	}
	return p
}

func byTimeOf(outcome record.Outcome) fault.Code {
	if outcome == record.TimeRanOut {
		return fault.EndNotReached
	}
	return ""
}

// Foreign is the outcome of a curve whose end reason nobody recorded.
const Foreign record.Outcome = "not-recorded"

// foreignEnd reads the end of a curve: at the end density it was as good as
// complete, after the longest hold above it time ran out, else it was stopped.
func foreignEnd(p plan.Plan, r *replay.Replay) Ended {
	s := r.Watch.Summary()
	words := fmt.Sprintf("%.1f V, %.3g mA/cm2 after %.0f s of hold", s.EndVolts, s.EndDensity, s.HoldSeconds)
	end := p.End
	byDensity := end.Time == 0 && s.EndDensity <= 1.2*end.CurrentDensity
	switch {
	case !r.Seen:
		return Ended{Outcome: Foreign, Why: "not recorded"}
	case byDensity, end.Time > 0 && s.HoldSeconds >= end.Time:
		return Ended{Outcome: record.Complete, Why: "not recorded; as the plan's end: " + words}
	case end.LongestHold > 0 && s.HoldSeconds >= end.LongestHold:
		return Ended{Outcome: record.TimeRanOut, Why: "not recorded; longer than the longest hold: " + words}
	}
	return Ended{Outcome: record.Stopped, Why: "not recorded; before the plan's end: " + words}
}
