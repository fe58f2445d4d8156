package campaign

import (
	"math"
	"slices"

	"anodized/controller/fault"
	"anodized/controller/record"
)

// Found says how an injected fault was told.
type Found uint8

// What can become of an injected fault.
const (
	Missed Found = iota
	AsLike
	AsItself
	NotInjected // the run was over before its moment came
)

// Verdict is what became of the fault of one run.
type Verdict struct {
	Found   Found
	Inside  bool       // the plant was where the fault must be seen
	Latency float64    // s from its moment; NaN where it was missed
	As      fault.Code // what it was called
}

// Verdict judges a run by its result against what was injected.
func (r Report) Verdict() Verdict {
	in := r.Case.Injection
	v := Verdict{Latency: math.NaN()}
	if math.IsNaN(r.Onset) {
		v.Found = NotInjected
		return v
	}
	v.Inside = in.region == nil || in.region(r)
	for _, code := range append([]fault.Code{in.Code}, in.Like...) {
		at, found := r.told(code)
		if !found || at < r.Onset-0.25 {
			continue
		}
		v.As, v.Latency = code, math.Max(0, at-r.Onset)
		v.Found = AsLike
		if code == in.Code {
			v.Found = AsItself
		}
		return v
	}
	return v
}

// told is when a run told a code, as its trip or as a finding.
func (r Report) told(code fault.Code) (at float64, found bool) {
	if r.Result.Trip != nil && r.Result.Trip.Code == code {
		if r.Result.EnergisedSeconds == nil {
			return r.Onset, true
		}
		return *r.Result.EnergisedSeconds, true
	}
	k := slices.IndexFunc(r.Result.Findings, func(f fault.Finding) bool { return f.Code == code })
	if k < 0 {
		return 0, false
	}
	return r.Result.Findings[k].AtSeconds, true
}

// FalseTrip is the trip of a run without a fault, "" for none.
func (r Report) FalseTrip() fault.Code {
	if r.Case.Injection == nil && r.Result.Outcome == record.Tripped && r.Result.Trip != nil {
		return r.Result.Trip.Code
	}
	return ""
}
