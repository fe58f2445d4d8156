package campaign

import (
	"encoding/json"
	"fmt"
	"math"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/hal/virtual"
)

// Violation is something that must not happen in any run, whatever was injected.
type Violation struct {
	Invariant string `json:"invariant"`
	Seed      uint64 `json:"seed"`
	Detail    string `json:"detail"`
}

// Invariants are the names of what is judged, from the plant and the wire.
func Invariants() []string {
	return []string{lidEnds, voltsBelow, limitBelow, currentBelow, intentFirst, secondsAgree, closedSet, goodEnd, finite, sameAgain}
}

const (
	lidEnds      = "an open lid ends the power in time"
	voltsBelow   = "the cell stays below the plan's ceiling"
	limitBelow   = "the supply holds no more current than planned"
	currentBelow = "the current stays below its limit"
	intentFirst  = "the intent row is older than the first on"
	secondsAgree = "record and plant agree on the energised time"
	closedSet    = "a trip is one of the list"
	goodEnd      = "complete is complete"
	finite       = "numbers are numbers"
	sameAgain    = "the same seed gives the same result"
)

// auditor looks at the plant each tick and keeps the first of each violation.
type auditor struct {
	report  *Report
	begun   bool    // the intent row was asked for
	opened  float64 // s of the bench since when the lid is open under power; NaN: it is not
	powered float64 // s of the bench with power, in all
	last    float64 // s of the bench
}

func (r *Report) violate(invariant, detail string, values ...any) {
	for _, v := range r.Violations {
		if v.Invariant == invariant {
			return
		}
	}
	r.Violations = append(r.Violations, Violation{invariant, r.Case.Seed, fmt.Sprintf(detail, values...)})
}

// supplysOwn are the injected faults in which the supply itself does what it was not told.
var supplysOwn = map[string]bool{"setpoint-gain": true, "panel-touched": true, "current-limit-ignored": true, "output-stuck-on": true,
	"setpoint-not-followed": true, "setpoint-ignored": true, "supply-restarted": true}

// deaf are those in which it does not hear.
var deaf = map[string]bool{"supply-unplugged": true, "supply-silent": true, "output-stuck-on": true, "setpoint-ignored": true,
	"garbage": true, "cut-reply": true, "doubled-reply": true, "merged-reply": true, "late-reply": true}

func (c *Case) injected(set map[string]bool) bool {
	for _, f := range c.Setup.Faults {
		if set[f.ID] {
			return true
		}
	}
	return false
}

// see judges one moment.
func (a *auditor) see(t *virtual.Truth) {
	dt := t.Seconds - a.last
	a.last = t.Seconds
	if !t.Powered {
		a.opened = math.NaN()
		return
	}
	a.powered += dt
	if !a.begun {
		a.report.violate(intentFirst, "power at %.2f s without an intent row", t.Seconds)
	}
	a.lid(t)
	if !a.report.Case.injected(supplysOwn) {
		a.limits(t)
	}
}

// offOnWire is how long after the lid opened the supply may still give power: off
// has been written by then, or the contactor has parted the cell.
const offOnWire = 0.35

func (a *auditor) lid(t *virtual.Truth) {
	c := &a.report.Case
	if !t.LidOpen || !t.Live {
		a.opened = math.NaN()
		return
	}
	if math.IsNaN(a.opened) {
		a.opened = t.Seconds
	}
	tick := c.Tick.Seconds() * (1 + c.Jitter) // as often as is looked
	if t.Seconds-a.opened > offOnWire+tick && !c.injected(deaf) {
		a.report.violate(lidEnds, "power %.2f s after the lid opened", t.Seconds-a.opened)
	}
}

func (a *auditor) limits(t *virtual.Truth) {
	p, step := &a.report.Plan, a.report.Case.Setup.Parameters.Output.AmpereStep
	if most := float64(p.CeilingVolts) + 0.5; t.CellVolts > most {
		a.report.violate(voltsBelow, "%.2f V, at most %.2f V", t.CellVolts, most)
	}
	if t.HeldAmperes > float64(p.CurrentLimit)+step {
		a.report.violate(limitBelow, "%.4f A held, %.4f A planned", t.HeldAmperes, float64(p.CurrentLimit))
	}
	if most := t.HeldAmperes*1.02 + 0.01; t.Amperes > most && t.HeldAmperes > 0 {
		a.report.violate(currentBelow, "%.4f A flow, %.4f A is the limit", t.Amperes, t.HeldAmperes)
	}
}

// end judges the result.
func (a *auditor) end() {
	r := a.report
	if text, err := json.Marshal(r.Result); err != nil {
		r.violate(finite, "%v", err)
	} else if len(text) == 0 {
		r.violate(finite, "an empty result")
	}
	if trip := r.Result.Trip; trip != nil {
		if _, known := fault.TripByCode(trip.Code); !known {
			r.violate(closedSet, "%s", trip.Code)
		}
	}
	if said := r.Result.EnergisedSeconds; said != nil && math.Abs(*said-a.powered) > 1 && !r.Case.injected(supplysOwn) && !r.Case.injected(deaf) {
		r.violate(secondsAgree, "%.1f s on the record, %.1f s in the plant", *said, a.powered)
	}
	if r.Result.Outcome == record.Complete {
		a.complete()
	}
}

// complete: volts at target by the meter, a density of the end on the true area, and
// no part lost that had to be seen.
func (a *auditor) complete() {
	r := a.report
	target := float64(r.Plan.TargetVolts)
	if v := r.Result.EndVolts; v == nil {
		r.violate(goodEnd, "complete without volts")
	} else if math.Abs(*v-target) > 0.2+0.005*target && !r.Case.injected(supplysOwn) {
		r.violate(goodEnd, "ended at %.2f V of %.2f V", *v, target)
	}
	if in := r.Case.Injection; in != nil && in.Code == fault.ContactLost {
		if v := r.Verdict(); v.Found == Missed && v.Inside {
			r.violate(goodEnd, "complete with a part lost at %.1f V", r.OnsetVolts)
		}
	}
}
