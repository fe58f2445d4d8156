package campaign

import (
	"math"
	"slices"

	"anodized/controller/fault"
	"anodized/controller/process"
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
	Latency float64    // s from its moment; NaN where it was missed, or there was no power
	As      fault.Code // what it was called
}

// underPower are the states in which a fault must be found.
var underPower = []string{process.ContactCheck.String(), process.Ramping.String(), process.Holding.String()}

// Verdict judges a run by its result against what was injected first.
func (r Report) Verdict() Verdict {
	in := r.Case.Injection
	v := Verdict{Latency: math.NaN()}
	if math.IsNaN(r.Onset) && r.OnsetState == "" && r.Result.Outcome != record.Refused {
		v.Found = NotInjected
		return v
	}
	if r.Result.Outcome == record.Refused {
		return r.refused(v)
	}
	v.Inside = !math.IsNaN(r.Onset) && (in.anyTime || slices.Contains(underPower, r.OnsetState)) && (in.region == nil || in.region(r))
	if in.Code == "" {
		v.Inside = false
	}
	for _, code := range append([]fault.Code{in.Code}, in.Like...) {
		at, found := r.told(code)
		if !found || r.Case.First != "" && at < r.Onset-0.25 { // what is so from the start may be told before the first tick
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

// refused: a load that is refused for its fault was found before it was energised.
func (r Report) refused(v Verdict) Verdict {
	v.Found, v.As, v.Inside = AsLike, refusedWord, true
	if trip := r.Result.Trip; trip != nil && trip.Code == r.Case.Injection.Code {
		v.Found = AsItself
	}
	return v
}

const refusedWord fault.Code = "refused"

// told is when a run told a code, as its trip or as a finding.
func (r Report) told(code fault.Code) (at float64, found bool) {
	if r.Result.Trip != nil && r.Result.Trip.Code == code {
		if r.Result.EnergisedSeconds == nil {
			return r.Onset, true
		}
		at, _ := r.found(code) // a trip may come after the power, as of a contactor that does not part
		return math.Max(at, *r.Result.EnergisedSeconds), true
	}
	return r.found(code)
}

// found is when a run had a finding.
func (r Report) found(code fault.Code) (at float64, found bool) {
	k := slices.IndexFunc(r.Result.Findings, func(f fault.Finding) bool { return f.Code == code })
	if k < 0 {
		return 0, false
	}
	return r.Result.Findings[k].AtSeconds, true
}

// FirstCause is what a run gave as its cause: the trip, "refused", the first finding
// that speaks against it, or else its outcome.
func (r Report) FirstCause() string {
	switch {
	case r.Result.Outcome == record.Refused:
		return string(refusedWord)
	case r.Result.Trip != nil:
		return string(r.Result.Trip.Code)
	}
	first := -1
	for n, f := range r.Result.Findings {
		if f.Severity != fault.Record && (first < 0 || f.AtSeconds < r.Result.Findings[first].AtSeconds) {
			first = n
		}
	}
	if first < 0 {
		return string(r.Result.Outcome)
	}
	return string(r.Result.Findings[first].Code)
}

// FalseTrip is the trip of a run without a fault, "" for none.
func (r Report) FalseTrip() fault.Code {
	if r.Case.Injection == nil && r.Case.Chaos == nil && r.Result.Outcome == record.Tripped && r.Result.Trip != nil {
		return r.Result.Trip.Code
	}
	return ""
}
