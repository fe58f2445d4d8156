package campaign

import (
	"slices"
	"time"

	"anodized/controller/fault"
)

// Outcome is what a campaign found.
type Outcome struct {
	Runs       int                   `json:"runs"`
	Seed       uint64                `json:"seed"`
	Seconds    float64               `json:"seconds"`
	Simulated  bool                  `json:"simulated"` // always
	Violations []Violation           `json:"violations"`
	FalseTrips int                   `json:"false_trips"`
	TripSeeds  []uint64              `json:"false_trip_seeds"`
	Healthy    HealthyRuns           `json:"healthy"`
	Detection  map[string]*Detection `json:"detection"`
	Invariants []string              `json:"invariants_judged"`
	NotRun     []string              `json:"not_run"`
}

// HealthyRuns is what the station said of loads in good order that was not so.
type HealthyRuns struct {
	Runs          int                   `json:"runs"`
	FalseTripMost float64               `json:"false_trip_share_95"` // upper bound, 95 %
	FalseFindings map[fault.Code]int    `json:"false_findings"`
	Seeds         map[fault.Code]uint64 `json:"false_finding_seeds"` // the first of each
}

// Right tells whether nothing happened that must not.
func (o Outcome) Right() bool { return len(o.Violations) == 0 && o.FalseTrips == 0 }

// mostViolations is how many a report lists.
const mostViolations = 100

// notRun is what this campaign leaves to other tests, said in each report.
var notRun = []string{"disorder: random bytes, gaps and events", "journal on a disk, killed processes, web clients",
	"latency of the off path by the wall clock", "replay of a journal on another architecture"}

func fold(entries []entry, o Options, took time.Duration) Outcome {
	out := Outcome{Runs: o.Runs, Seed: o.Seed, Seconds: took.Seconds(), Simulated: true, Violations: []Violation{}, TripSeeds: []uint64{},
		Healthy:   HealthyRuns{FalseFindings: map[fault.Code]int{}, Seeds: map[fault.Code]uint64{}},
		Detection: map[string]*Detection{}, Invariants: Invariants(), NotRun: notRun}
	all := Injections()
	for _, in := range all {
		out.Detection[in.ID] = &Detection{}
	}
	for _, e := range entries {
		out.take(e, all)
	}
	for _, d := range out.Detection {
		d.Close()
	}
	if n := out.Healthy.Runs; n > 0 {
		out.Healthy.FalseTripMost = upperBound(out.FalseTrips, n)
	}
	return out
}

func (o *Outcome) take(e entry, all []Injection) {
	if e.err != nil {
		e.violations = append(e.violations, Violation{"a run comes to its end", e.seed, e.err.Error()})
	}
	if room := mostViolations - len(o.Violations); room > 0 {
		o.Violations = append(o.Violations, e.violations[:min(room, len(e.violations))]...)
	}
	switch e.block {
	case inOrder:
		o.healthy(e)
	case oneFault:
		if e.err == nil {
			o.Detection[all[e.injection].ID].Take(e.seed, e.verdict)
		}
	}
}

func (o *Outcome) healthy(e entry) {
	o.Healthy.Runs++
	if e.falseTrip != "" {
		o.FalseTrips++
		o.TripSeeds = append(o.TripSeeds, e.seed)
	}
	slices.Sort(e.falses)
	for _, code := range slices.Compact(e.falses) {
		if o.Healthy.FalseFindings[code]++; o.Healthy.FalseFindings[code] == 1 {
			o.Healthy.Seeds[code] = e.seed
		}
	}
}
