package review

import (
	"fmt"
	"math"
	"sort"
	"strings"

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
		r.close(run.Result.Outcome)
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

// ended tells whether a run is over: of one that still goes on the end is not judged.
func ended(outcome record.Outcome) bool {
	_, known := outcomeWords[outcome]
	return known
}

// close judges the end as the run did.
func (r *replay) close(outcome record.Outcome) {
	byTime := fault.Code("")
	if outcome == record.TimeRanOut {
		byTime = fault.TargetNotReached
		if process.State(r.last.State) == process.Holding {
			byTime = fault.EndNotReached
		}
	}
	process.Close(r.watch, stateOf(outcome), byTime)
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

// endedOf is the end of a run in words.
func endedOf(res record.Result) Ended {
	e := Ended{Outcome: res.Outcome, ByEye: res.ByEye, Trip: res.Trip}
	switch {
	case res.Trip != nil:
		e.Why = fmt.Sprintf("%s: %s", res.Trip.Code, res.Trip.Message)
	case res.ByEye:
		e.Why = "by a person, by eye: the colour that was wanted"
	default:
		e.Why = outcomeWords[res.Outcome]
	}
	if len(res.Reasons) > 0 {
		e.Why = strings.TrimPrefix(e.Why+": ", ": ") + strings.Join(res.Reasons, "; ")
	}
	return e
}

var outcomeWords = map[record.Outcome]string{
	record.Complete:    "the end criterion held",
	record.TimeRanOut:  "the longest ramp or hold passed: not the same film as an end by density",
	record.Stopped:     "by a person",
	record.Tripped:     "by a trip",
	record.Interrupted: "the program or the power went",
	record.Refused:     "never energised",
}

// differences lists the numbers of the result line that the replay does not give.
// A run that was interrupted was closed by plain arithmetic, so it is not compared.
func differences(res record.Result, r *replay) []string {
	if !ended(res.Outcome) || res.Outcome == record.Interrupted || res.Outcome == record.Refused {
		return nil
	}
	var now record.Result
	now.Fill(r.watch.Summary())
	var out []string
	for _, pair := range []struct {
		name         string
		record, here *float64
	}{
		{"end_volts", res.EndVolts, now.EndVolts}, {"end_current_amperes", res.EndCurrent, now.EndCurrent},
		{"end_current_density_ma_cm2", res.EndDensity, now.EndDensity}, {"hold_seconds", res.HoldSeconds, now.HoldSeconds},
		{"ramp_seconds", res.RampSeconds, now.RampSeconds}, {"charge_coulombs", res.Charge, now.Charge},
		{"live_area_cm2", res.LiveArea, now.LiveArea}, {"thickness_by_volts_nm", res.ThicknessByVolts, now.ThicknessByVolts},
		{"thickness_by_charge_nm", res.ThicknessByCharge, now.ThicknessByCharge}, {"series_ohm", res.SeriesOhm, now.SeriesOhm},
	} {
		if !same(pair.record, pair.here) {
			out = append(out, fmt.Sprintf("%s: %s recorded, %s now", pair.name, shown(pair.record), shown(pair.here)))
		}
	}
	return out
}

func same(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return math.Abs(*a-*b) <= 1e-9*math.Max(math.Abs(*a), math.Abs(*b))
}

func shown(v *float64) string {
	if v == nil {
		return "not known"
	}
	return fmt.Sprintf("%.6g", *v)
}

// cannotShow is what no curve of volts and amperes can show.
func cannotShow() []string {
	return []string{
		"grease, prints, stains, media smear, a mix of grades or lots, differences of finish, shading and local defects",
		"which part lost contact",
		"area apart from efficiency, or either apart from a part that was never connected",
		"a gain error of the volt reading, and ripple",
		"the colour itself, and how it was looked at",
		"anything after the lid was opened",
	}
}
