package review

import (
	"math"
	"sort"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// OfRun reviews a recorded run with the plan and the bench that its intent froze.
func OfRun(run record.Run) Review {
	in := run.Intent
	bench := watch.Bench{Tick: in.TickSeconds, Settle: in.Bench.Settle, VoltStep: in.Bench.VoltStep,
		AmpereStep: in.Bench.AmpereStep, Zero: in.Bench.Zero}
	v := Review{Run: run.ID, Simulated: in.Simulated || run.Result.Simulated, Ended: endedOf(run.Result),
		Usable: usable(in.Plan, run.Rows), CannotShow: cannotShow()}
	r := replayed(in.Plan, bench, run.Rows, offMoment(run.Events))
	if r.seen && ended(run.Result.Outcome) {
		r.close(run.Result.Outcome, run.Result.ByEye)
	}
	v.judge(r, run.Result.Findings, run.Result.Trip)
	v.Trace = r.trace
	if v.Usable.OK {
		v.Estimates = estimatesOf(in.Plan, r.watch)
		v.Differs = differences(run.Result, r)
	}
	return v
}

// offMoment is when the run left its last energised state, NaN where it is not told.
func offMoment(events []record.Event) unit.Seconds {
	for _, event := range events {
		if event.Kind == "state" && (event.Code == process.Discharging.String() || event.Text == process.Discharging.String()) {
			return event.T
		}
	}
	return unit.Seconds(math.NaN())
}

// close judges the end as the run did.
func (r *replay) close(outcome record.Outcome, byEye bool) {
	byTime := fault.Code("")
	if outcome == record.TimeRanOut {
		byTime = fault.TargetNotReached
		if process.State(r.last.State) == process.Holding {
			byTime = fault.EndNotReached
		}
	}
	process.Close(r.watch, process.End{State: stateOf(outcome), ByTime: byTime, ByEye: byEye})
}

// stateOf is the end state of an outcome. An interrupted run was stopped by
// something that is not known.
func stateOf(outcome record.Outcome) process.State {
	switch outcome {
	case record.Complete:
		return process.Complete
	case record.TimeRanOut:
		return process.TimeRanOut
	case record.Tripped:
		return process.Tripped
	}
	return process.Stopped
}

// judge gathers findings and makes the electrical verdict. Of a curve that is not
// usable only what was recorded counts.
func (v *Review) judge(r *replay, recorded []fault.Finding, trip *record.Trip) {
	v.Findings, v.Causes = []fault.Finding{}, []Cause{}
	v.Verdict = Verdict{Electrical: Unknown, Colour: string(Unknown)}
	if v.Usable.OK {
		v.Findings = append(v.Findings, r.findings()...)
	}
	for _, finding := range recorded {
		if !hasCode(v.Findings, finding.Code) {
			v.Findings = append(v.Findings, finding)
		}
	}
	if trip != nil && !hasCode(v.Findings, trip.Code) {
		v.Findings = append(v.Findings, fault.Finding{Code: trip.Code, Severity: fault.Fault, AtSeconds: float64(r.last.T),
			Evidence: []string{trip.Message}, Confidence: "certain", Action: trip.Action})
	}
	sort.SliceStable(v.Findings, func(i, j int) bool { return v.Findings[i].AtSeconds < v.Findings[j].AtSeconds })
	if v.Usable.OK {
		v.Verdict.Electrical = electrical(v.Findings)
	}
}

// electrical is the worst severity of the findings.
func electrical(findings []fault.Finding) Electrical {
	worst := Clean
	for _, finding := range findings {
		switch {
		case finding.Severity == fault.Fault:
			return Fault
		case finding.Severity == fault.Warning:
			worst = Warning
		}
	}
	return worst
}
