package campaign

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/record"
)

// Violation is something that must not happen in any run, whatever was injected.
type Violation struct {
	Invariant string `json:"invariant"`
	Seed      uint64 `json:"seed"`
	Detail    string `json:"detail"`
}

// Invariants are the names of what is judged, from the plant and the wire.
func Invariants() []string {
	return []string{lidEnds, voltsBelow, limitBelow, currentBelow, intentFirst, secondsAgree, offInTime, offFirst, closedSet, firstCause,
		goodEnd, finite, unknownIsUnknown, nothingLeft, replays, sameAgain, comesToEnd}
}

const (
	lidEnds          = "an open lid ends the power in time"
	voltsBelow       = "the cell stays below the plan's ceiling"
	limitBelow       = "the supply holds no more current than planned"
	currentBelow     = "the current stays below its limit"
	intentFirst      = "the intent row is older than the first on"
	secondsAgree     = "record and plant agree on the energised time"
	offInTime        = "off waits for no disk, no queue and no client"
	offFirst         = "the first word is off, and none is on without a start"
	closedSet        = "a trip is one of the list"
	firstCause       = "the first cause is the fault or what it may be taken for"
	goodEnd          = "complete is complete"
	finite           = "numbers are numbers"
	unknownIsUnknown = "unknown is not off, and a missing reading is no value"
	nothingLeft      = "no panic, no goroutine left, memory flat, illegal events trip"
	replays          = "the record's readings give the same numbers again"
	sameAgain        = "the same seed gives the same result, whatever the wall clock says"
	comesToEnd       = "a run comes to its end"
)

func (r *Report) violate(invariant, detail string, values ...any) {
	for _, v := range r.Violations {
		if v.Invariant == invariant {
			return
		}
	}
	r.Violations = append(r.Violations, Violation{invariant, r.Case.Seed, fmt.Sprintf(detail, values...)})
}

// Sorts of injected faults that excuse something.
var (
	// supplysOwn are those in which the supply itself does what it was not told.
	supplysOwn = set("setpoint-gain", "panel-touched", "output-touched", "current-limit-ignored", "output-stuck-on", "setpoint-not-followed",
		"setpoint-ignored", "setpoint-clamped", "off-ignored", "supply-restarted", "supply-tripped")
	// deaf are those in which it does not hear.
	deaf = set("supply-unplugged", "supply-silent", "output-stuck-on", "off-ignored", "setpoint-ignored", "garbage", "cut-reply",
		"doubled-reply", "merged-reply", "late-reply")
	// weld are those in which the contactor does not part.
	weld = set("contactor-welded", "contactor-gone")
	// neverHung are those in which the part that is lost may be one that hung at no time.
	neverHung = set("part-missing")
	// lying are those in which the readings are not what is.
	lying = set("readback-volts-gain", "readback-amperes-gain", "current-offset", "readback-stuck", "readback-volts-stuck",
		"readback-amperes-stuck", "setpoint-gain", "no-reading")
)

func set(ids ...string) map[string]bool {
	is := map[string]bool{}
	for _, id := range ids {
		is[id] = true
	}
	return is
}

// injected tells whether one of these was put in, by the case or by disorder.
func (r *Report) injected(ids map[string]bool) bool {
	return r.Case.injected(ids) || slices.ContainsFunc(r.disorder, func(id string) bool { return ids[id] })
}

func (c *Case) injected(ids map[string]bool) bool {
	for _, f := range c.Setup.Faults {
		if ids[f.ID] {
			return true
		}
	}
	for _, late := range c.Late {
		if ids[late.Fault.ID] {
			return true
		}
	}
	return false
}

// end judges the result.
func (a *auditor) end(last *controller.Snapshot) {
	r := a.report
	a.numbers(last)
	r.listed()
	if r.Case.Chaos != nil {
		return
	}
	a.seconds()
	r.rows()
	if r.Result.Outcome == record.Complete {
		r.complete()
	}
}

// numbers: none of the result or of what is shown is not a number, infinite or a
// device's word for "no reading".
func (a *auditor) numbers(last *controller.Snapshot) {
	for _, shown := range []any{a.report.Result, last} {
		text, err := json.Marshal(shown)
		var tree any
		if err == nil {
			err = json.Unmarshal(text, &tree)
		}
		if err != nil {
			a.report.violate(finite, "%v", err)
		}
		if at, x := absurd(tree, ""); at != "" {
			a.report.violate(finite, "%s is %g", at, x)
		}
	}
}

// mostPlausible is far above every number that a run can have, also how unsure an estimate
// is that nothing is known of yet, and below a device's word for "no reading".
const mostPlausible = 1e12

// absurd finds a number that none can be, and its path.
func absurd(tree any, path string) (at string, x float64) {
	switch t := tree.(type) {
	case float64:
		if math.Abs(t) > mostPlausible {
			return path, t
		}
	case map[string]any:
		for key, value := range t {
			if at, x = absurd(value, path+"."+key); at != "" {
				return at, x
			}
		}
	case []any:
		for _, value := range t {
			if at, x = absurd(value, path+"[]"); at != "" {
				return at, x
			}
		}
	}
	return "", 0
}

// listed: a trip is one of the closed list.
func (r *Report) listed() {
	if trip := r.Result.Trip; trip != nil {
		if _, known := fault.TripByCode(trip.Code); !known {
			r.violate(closedSet, "%s", trip.Code)
		}
	}
}

// cause judges the first cause against what was injected: it is that, or the trip itself
// says on the screen that it could be that.
func (r *Report) cause() {
	trip := r.Result.Trip
	if trip == nil || r.Result.Outcome != record.Tripped || r.Case.Chaos != nil {
		return
	}
	row, _ := fault.TripByCode(trip.Code)
	for _, in := range r.Case.injections() {
		if trip.Code == in.Code || row.Resembles(in.Code, r.OnsetLimited || r.AtEnd.Limited) {
			return
		}
	}
	r.violate(firstCause, "%s, injected was %s", trip.Code, strings.Join(r.Case.ids(), " and "))
}

// seconds: the record's energised time is the plant's, within a second and what the
// supply or a stalled computer hid.
func (a *auditor) seconds() {
	said := a.report.Result.EnergisedSeconds
	if said == nil {
		return
	}
	most := 1 + a.report.stalled
	if a.report.Case.injected(supplysOwn) || a.report.Case.injected(deaf) {
		most += 1.5 // until it shows that the supply went off by itself
	}
	if apart := math.Abs(*said - a.powered); apart > most {
		a.report.violate(secondsAgree, "%.2f s on the record, %.2f s in the plant", *said, a.powered)
	}
}

// rows: each energised second has a row, or a gap that is told.
func (r *Report) rows() {
	if r.Kept.Rows == 0 || r.Result.EnergisedSeconds == nil {
		return
	}
	most := 1 + r.stalled
	if r.Kept.Gap > most {
		r.violate(secondsAgree, "%.2f s without a row", r.Kept.Gap)
	}
	if missing := *r.Result.EnergisedSeconds - r.Kept.Last; missing > most {
		r.violate(secondsAgree, "the last energised row is %.2f s before the end", missing)
	}
	if r.Kept.Wrong != "" {
		r.violate(finite, "a row has %s", r.Kept.Wrong)
	}
}

// complete: volts at target by the meter, a density of the end on the declared area in
// the plant, and no part lost that had to be seen.
func (r *Report) complete() {
	p, target := &r.Plan, float64(r.Plan.TargetVolts)
	if v := r.Result.EndVolts; v == nil {
		r.violate(goodEnd, "complete without volts")
	} else if math.Abs(*v-target) > 0.2+r.Case.Setup.Parameters.Meter.VoltStep/2 && !r.Case.injected(supplysOwn) && !r.Case.injected(lying) {
		r.violate(goodEnd, "ended at %.2f V of %.2f V", *v, target)
	}
	most := 1.3*float64(p.End.Current) + r.Case.Setup.Parameters.Meter.AmpereStep
	if r.AtEnd.Amperes > most && p.End.Time == 0 && !r.Case.injected(lying) {
		r.violate(goodEnd, "complete at %.4f A, the end is at %.4f A", r.AtEnd.Amperes, float64(p.End.Current))
	}
	if r.partLost() {
		r.violate(goodEnd, "complete with a part lost at %.1f V", r.OnsetVolts)
	}
}

// partLost tells whether a part hangs without its film at the end, whose loss had to be
// seen. A contact that came back has caught up.
func (r *Report) partLost() bool {
	in := r.Case.Injection
	if in == nil || in.Code != fault.ContactLost || len(r.AtEnd.Film) == 0 || r.Case.Second != nil && r.Case.injected(lying) || r.Case.injected(neverHung) {
		return false
	}
	thinnest, thickest := slices.Min(r.AtEnd.Film), slices.Max(r.AtEnd.Film)
	short := thinnest < 0.99*thickest || thickest < 0.8*float64(r.Plan.Expected.Thickness)
	v := r.Verdict()
	return short && v.Found == Missed && v.Inside
}
