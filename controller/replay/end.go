package replay

import (
	"slices"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
)

// Close judges the end as the run did.
func (r *Replay) Close(outcome record.Outcome, byEye bool) {
	byTime := fault.Code("")
	if outcome == record.TimeRanOut {
		byTime = fault.TargetNotReached
		if process.State(r.Last.State) == process.Holding {
			byTime = fault.EndNotReached
		}
	}
	r.CloseBy(outcome, byEye, byTime)
}

// CloseBy judges an end by a limit of time that is known.
func (r *Replay) CloseBy(outcome record.Outcome, byEye bool, byTime fault.Code) {
	process.Close(r.Watch, process.End{State: stateOf(outcome), ByTime: byTime, ByEye: byEye})
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

// Findings are those of the watch, then the trips that it showed.
func (r *Replay) Findings() []fault.Finding { return Merge(r.Watch.Findings(), r.trips) }

// Merge adds to a list what it does not have by code, and orders it by time.
func Merge(list, more []fault.Finding) []fault.Finding {
	all := append([]fault.Finding{}, list...) // never null
	for _, one := range more {
		if !Has(all, one.Code) {
			all = append(all, one)
		}
	}
	slices.SortStableFunc(all, func(a, b fault.Finding) int {
		switch {
		case a.AtSeconds < b.AtSeconds:
			return -1
		case a.AtSeconds > b.AtSeconds:
			return 1
		}
		return 0
	})
	return all
}

// Has tells whether a list has a finding of this code.
func Has(list []fault.Finding, code fault.Code) bool {
	return slices.ContainsFunc(list, func(f fault.Finding) bool { return f.Code == code })
}
