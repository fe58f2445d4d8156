package campaign

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"runtime"
	"sync"
	"time"

	"anodized/controller/colour"
	"anodized/controller/fault"
)

// Options are what a campaign is made of.
type Options struct {
	Runs    int
	Seed    uint64 // of the first run; the others follow
	Workers int    // 0: one a processor
	Surface *colour.Surface
}

// block is the sort of a run.
type block uint8

const (
	inOrder block = iota
	oneFault
	twoFaults
)

// blocks of twenty runs in a row: of a hundred thousand, thirty-five thousand in good order,
// fifty with one fault, fifteen with two.
func blockOf(n int) block {
	switch k := n % 20; {
	case k < 7:
		return inOrder
	case k < 17:
		return oneFault
	}
	return twoFaults
}

// entry is what is kept of a run.
type entry struct {
	block      block
	injection  int
	seed       uint64
	verdict    Verdict
	falseTrip  fault.Code
	falses     []fault.Code
	violations []Violation
	err        error
}

// everyAgain is how often a run is run twice, to see that it is the same.
const everyAgain = 50

// Campaign runs loads in parallel. The same seed and number give the same report, but
// for the seconds.
func Campaign(ctx context.Context, o Options) (Outcome, error) {
	began := time.Now()
	entries := make([]entry, o.Runs)
	next := make(chan int)
	var wait sync.WaitGroup
	workers := o.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	for range workers {
		wait.Go(func() {
			for n := range next {
				entries[n] = one(ctx, o, n)
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
	return fold(entries, o, time.Since(began)), nil
}

// one draws and runs the nth load.
func one(ctx context.Context, o Options, n int) entry {
	all := Injections()
	e := entry{block: blockOf(n), seed: o.Seed + uint64(n), injection: (n/20*10 + n%20 - 7) % len(all)}
	c := e.draw(o.Surface, all)
	r, err := Run(ctx, c)
	if err != nil {
		e.err = err
		return e
	}
	if n%everyAgain == 0 {
		r.again(ctx, c)
	}
	e.violations, e.falseTrip = r.Violations, r.FalseTrip()
	switch e.block {
	case inOrder:
		e.falses = r.FalseFindings()
	case oneFault:
		e.verdict = r.Verdict()
	}
	return e
}

func (e *entry) draw(surface *colour.Surface, all []Injection) Case {
	switch e.block {
	case oneFault:
		return OneFault(e.seed, all[e.injection], surface)
	case twoFaults:
		d := draw{rand.New(rand.NewPCG(e.seed, stream+3))}
		first, second := all[d.IntN(len(all))], all[d.IntN(len(all))]
		c := OneFault(e.seed, first, surface)
		second.prepare(d, &c)
		return c
	}
	return Healthy(e.seed, surface, Spread{OwnCalibration: e.seed%2 == 0})
}

// again runs a load once more and compares the results.
func (r *Report) again(ctx context.Context, c Case) {
	second, err := Run(ctx, c)
	if err != nil {
		r.violate(sameAgain, "the second time: %v", err)
		return
	}
	a, errA := json.Marshal(r.Result)
	b, errB := json.Marshal(second.Result)
	if errA != nil || errB != nil || !bytes.Equal(a, b) {
		r.violate(sameAgain, "%s, then %s", a, b)
	}
}
