package campaign

import (
	"bytes"
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"anodized/controller/colour"
	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/controller/watch"
)

// Options are what a campaign is made of.
type Options struct {
	Runs    int
	Seed    uint64 // of the first run; the others follow
	Workers int    // 0: one a processor
	Surface *colour.Surface
}

// entry is what is kept of a run.
type entry struct {
	seed       uint64
	block      Block
	injection  string // "" where there is none, or two
	verdict    Verdict
	cause      string
	outcome    string
	falseTrip  fault.Code
	falses     []fault.Code
	margins    *watch.Margins
	violations []Violation
	judged     sampled
	err        error
}

// sampled are the judgements that only a share of the runs gets.
type sampled struct{ again, replayed bool }

// The shares of the runs that are judged by what costs as much as a run: one in so many.
const (
	everyAgain = 50
	replayedOf = 10
)

// collectLater lets the heap, which holds one run a worker, grow to some ten megabytes
// before it is collected: at the usual percentage that is ten times a run.
const collectLater = 800

// Campaign runs loads in parallel. The same seed and number give the same report, but
// for the seconds.
func Campaign(ctx context.Context, o Options) (Outcome, error) {
	began := time.Now()
	defer debug.SetGCPercent(debug.SetGCPercent(collectLater))
	entries := make([]entry, o.Runs)
	next := make(chan int)
	var wait sync.WaitGroup
	workers := o.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	flat := newFlat(workers)
	for range workers {
		wait.Go(func() {
			for n := range next {
				entries[n] = one(ctx, o, o.Seed+uint64(n))
				flat.look(n, &entries[n])
			}
		})
	}
feed:
	for n := range o.Runs {
		select {
		case next <- n:
		case <-ctx.Done():
			break feed
		}
	}
	close(next)
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return Outcome{}, fmt.Errorf("campaign of %d runs: %w", o.Runs, err)
	}
	return fold(entries, o, workers, time.Since(began), flat.end()), nil
}

// one draws and runs the load of a seed.
func one(ctx context.Context, o Options, seed uint64) entry {
	c := Draw(seed, o.Surface)
	e := entry{seed: seed, block: c.Block}
	r, err := Run(ctx, c)
	if err != nil {
		e.err = err
		return e
	}
	if e.judged.again = seed/20%everyAgain == 7; e.judged.again {
		r.again(ctx, c)
	}
	e.take(&r)
	return e
}

// take keeps what the report needs of a run.
func (e *entry) take(r *Report) {
	e.judged.replayed = r.Judge()
	e.violations, e.falseTrip, e.cause, e.outcome = r.Violations, r.FalseTrip(), r.FirstCause(), string(r.Result.Outcome)
	switch {
	case e.block == InOrder:
		e.falses, e.margins = r.FalseFindings(), r.Margins
	case r.Case.Injection != nil && r.Case.Second == nil:
		e.injection, e.verdict = r.Case.Injection.ID, r.Verdict()
	}
}

// Judge judges what is judged once a run is over, and tells whether its rows were replayed.
func (r *Report) Judge() (replayed bool) {
	r.cause()
	if r.Case.Chaos != nil {
		_ = guarded(r, func() error { r.bareLoop(); return nil }) // a panic is kept as a violation
	}
	return r.replay()
}

// again runs a load once more, years later by the wall clock, and compares the results.
func (r *Report) again(ctx context.Context, c Case) {
	c.WallClock += time.Duration(c.Seed%61-30) * 365 * 24 * time.Hour
	second, err := Run(ctx, c)
	if err != nil {
		r.violate(sameAgain, "the second time: %v", err)
		return
	}
	if a, b := said(unlabelled(r.Result)), said(unlabelled(second.Result)); !bytes.Equal(a, b) {
		r.violate(sameAgain, "%s, then %s", a, b)
	}
}

// unlabelled is a result without the readings of the wall clock, which stand in the
// evidence of a clock that stepped.
func unlabelled(of record.Result) record.Result {
	of.Findings = slices.Clone(of.Findings)
	for n := range of.Findings {
		if f := &of.Findings[n]; f.Code == fault.ClockStepped || f.Code == fault.ClockNotSet {
			f.Evidence = nil
		}
	}
	return of
}
