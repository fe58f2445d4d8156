package campaign

import (
	"runtime"
	"slices"
	"time"

	"anodized/controller/fault"
)

// Outcome is what a campaign found.
type Outcome struct {
	Commit     string                    `json:"commit"`
	Machine    string                    `json:"machine"`
	Runs       int                       `json:"runs"`
	Seed       uint64                    `json:"seed"` // of the first run; the others follow
	Seconds    float64                   `json:"seconds"`
	Simulated  bool                      `json:"simulated"` // always
	Spread     []string                  `json:"spread"`
	Blocks     map[string]int            `json:"blocks"`
	Violations []Violation               `json:"violations"`
	FalseTrips int                       `json:"false_trips"`
	TripSeeds  []uint64                  `json:"false_trip_seeds"`
	Healthy    HealthyRuns               `json:"healthy"`
	Detection  map[string]*Detection     `json:"detection"`
	Rows       map[string]int            `json:"runs_by_row"`
	Confusion  map[string]map[string]int `json:"first_causes"` // by what was injected
	Invariants []Judged                  `json:"invariants"`
	NotRun     []string                  `json:"not_run"`
	Process    Process                   `json:"process"`
}

// Judged is an invariant with its counts.
type Judged struct {
	Invariant  string `json:"invariant"`
	Judged     int    `json:"judged_runs"`
	Violations int    `json:"violations"`
	How        string `json:"how"`
}

// HealthyRuns is what the station said of loads in good order that was not so.
type HealthyRuns struct {
	Runs          int                    `json:"runs"`
	FalseTripMost float64                `json:"false_trip_share_95"` // upper bound, 95 %
	Outcomes      map[string]int         `json:"outcomes"`
	FalseFindings map[fault.Code]int     `json:"false_findings"`
	ShareMost     map[fault.Code]float64 `json:"false_finding_share_95"`
	Seeds         map[fault.Code]uint64  `json:"false_finding_seeds"` // the first of each
	Margins       map[fault.Code]*Margin `json:"margins"`
}

// Right tells whether nothing happened that must not.
func (o Outcome) Right() bool { return len(o.Violations) == 0 && o.FalseTrips == 0 }

// mostViolations is how many a report lists.
const mostViolations = 100

// notRun is what this campaign leaves to other tests, said in each report.
var notRun = []string{
	"margins of the detectors that compare with no threshold of a scatter: stuck, short, silent, chain",
	"a journal on a disk, processes that are killed, power cuts, a second daemon: tests of the journal and of the command",
	"bytes on real links and their grammar: fuzz targets and the fault table over the wires of the drivers",
	"a disk that blocks, a full queue and a hundred clients: their clock is not that of a campaign; TestOffWaitsForNothing beside it",
	"web requests and slow clients: tests of the page; one client that takes nothing hangs on each run here",
	"replay on another architecture: the gate runs the same load on four",
	"supply-ripple: the plant has none; it is asked at set-up",
	"ventilation: no device of this bench proves it",
	"I2C and GPIO chips: tests of their drivers; here a channel that is gone, and readings that are none",
}

func fold(entries []entry, o Options, workers int, took time.Duration, p Process) Outcome {
	out := Outcome{Commit: commit(), Machine: machine(), Runs: o.Runs, Seed: o.Seed, Seconds: took.Seconds(), Simulated: true,
		Spread: spread(), Blocks: map[string]int{}, Violations: []Violation{}, TripSeeds: []uint64{},
		Healthy: HealthyRuns{Outcomes: map[string]int{}, FalseFindings: map[fault.Code]int{}, ShareMost: map[fault.Code]float64{}, Seeds: map[fault.Code]uint64{}, Margins: map[fault.Code]*Margin{}},
		Rows:    map[string]int{}, Confusion: map[string]map[string]int{},
		Detection: map[string]*Detection{}, Invariants: judgements(), NotRun: notRun, Process: p}
	rows := map[string]string{}
	for _, in := range Injections() {
		out.Detection[in.ID], rows[in.ID] = &Detection{Row: in.Row, Bound: in.Bound}, in.Row
	}
	if what := p.left(o.Runs); what != "" && len(entries) > 0 {
		last := &entries[len(entries)-1]
		last.violations = append(last.violations, Violation{nothingLeft, last.seed, what})
	}
	for _, e := range entries {
		out.take(e, rows)
	}
	out.close()
	return out
}

func (o *Outcome) take(e entry, rows map[string]string) {
	o.Blocks[e.block.String()]++
	if e.err != nil {
		e.violations = append(e.violations, Violation{comesToEnd, e.seed, e.err.Error()})
	}
	o.judged(e)
	if room := mostViolations - len(o.Violations); room > 0 {
		o.Violations = append(o.Violations, e.violations[:min(room, len(e.violations))]...)
	}
	if e.err != nil {
		return
	}
	switch {
	case e.block == InOrder:
		o.healthy(e)
		o.confuse("nothing", e.cause)
	case e.injection != "":
		o.Rows[rows[e.injection]]++
		o.Detection[e.injection].Take(e.seed, e.verdict)
		if e.verdict.Found != NotInjected {
			o.confuse(e.injection, e.cause)
		}
	}
}

// confuse counts a first cause.
func (o *Outcome) confuse(injected, cause string) {
	if o.Confusion[injected] == nil {
		o.Confusion[injected] = map[string]int{}
	}
	o.Confusion[injected][cause]++
}

func (o *Outcome) healthy(e entry) {
	o.Healthy.Runs++
	o.Healthy.Outcomes[e.outcome]++
	if e.falseTrip != "" {
		o.FalseTrips++
		o.TripSeeds = append(o.TripSeeds, e.seed)
	}
	o.Healthy.near(e)
	slices.Sort(e.falses)
	for _, code := range slices.Compact(e.falses) {
		if o.Healthy.FalseFindings[code]++; o.Healthy.FalseFindings[code] == 1 {
			o.Healthy.Seeds[code] = e.seed
		}
	}
}

// judged counts the run for each invariant that it was judged by.
func (o *Outcome) judged(e entry) {
	for n := range o.Invariants {
		j := &o.Invariants[n]
		if counts := sampledBy[j.Invariant]; counts == nil || counts(e) {
			j.Judged++
		}
		for _, v := range e.violations {
			if v.Invariant == j.Invariant {
				j.Violations++
			}
		}
	}
}

func (o *Outcome) close() {
	for _, d := range o.Detection {
		d.Close()
	}
	n := o.Healthy.Runs
	if n == 0 {
		return
	}
	o.Healthy.FalseTripMost = upperBound(o.FalseTrips, n)
	for code, k := range o.Healthy.FalseFindings {
		o.Healthy.ShareMost[code] = upperBound(k, n)
	}
}

// sampledBy tells which runs an invariant is judged in; one that is not here, in all.
var sampledBy = map[string]func(entry) bool{
	sameAgain: func(e entry) bool { return e.judged.again },
	replays:   func(e entry) bool { return e.judged.replayed },
	goodEnd:   func(e entry) bool { return e.outcome == "complete" },
	firstCause: func(e entry) bool {
		return e.outcome == "tripped" && (e.block == OneFaulty || e.block == TwoFaulty)
	},
}

func machine() string {
	return runtime.GOOS + "/" + runtime.GOARCH + ", " + runtime.Version()
}
