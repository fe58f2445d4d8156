package review

import (
	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/controller/replay"
)

// OfRun reviews a recorded run with the plan and the bench that its intent froze. Of
// a run that goes on there are estimates and no verdict yet.
func OfRun(run record.Run) Review {
	in := run.Intent
	v := Review{Run: run.ID, Simulated: in.Simulated || run.Result.Simulated, Ended: endedOf(run.Result),
		Usable: usable(in.Plan, run.Rows), CannotShow: cannotShow()}
	r := replay.OfRun(run)
	over := ended(run.Result.Outcome)
	if r.Seen && over {
		r.Close(run.Result.Outcome, run.Result.ByEye)
	}
	v.judge(r, recordedOf(run))
	if !over {
		v.Verdict.Electrical = Unknown
	}
	v.Trace = r.Trace
	if v.Usable.OK {
		v.Estimates = estimatesOf(in.Plan, r.Watch)
		v.withoutOhms()
		v.Differs = differences(run.Result, r)
	}
	return v
}

// recordedOf are the findings that the result kept. An older record lists its trip
// apart from them.
func recordedOf(run record.Run) []fault.Finding {
	list, trip := run.Result.Findings, run.Result.Trip
	if trip == nil || replay.Has(list, trip.Code) {
		return list
	}
	at := 0.0
	for _, row := range run.Rows {
		at = max(at, float64(row.T))
	}
	return append(append([]fault.Finding{}, list...), fault.OfTrip(trip.Code, at))
}

// judge gathers findings and makes the electrical verdict. Of a curve that is not
// usable only what was recorded counts.
func (v *Review) judge(r *replay.Replay, recorded []fault.Finding) {
	v.Causes = []Cause{}
	v.Verdict = Verdict{Electrical: Unknown, Colour: string(Unknown)}
	v.Findings = replay.Merge(recorded, nil)
	if v.Usable.OK {
		v.Findings = replay.Merge(r.Findings(), recorded)
		v.Verdict.Electrical = electrical(v.Findings)
	}
}

// withoutOhms says so where there is no series resistance.
func (v *Review) withoutOhms() {
	if v.Estimates.SeriesOhm == nil {
		v.CannotShow = append(v.CannotShow, cannotShowOhms)
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
