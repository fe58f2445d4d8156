package campaign

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"maps"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"anodized/controller/colour"
	"anodized/controller/fault"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	acceptRuns = flag.Int("accept-runs", 0, "loads for each row of the acceptance; 0: the row's own")
	acceptSeed = flag.Uint64("accept-seed", 1, "seed of the first of them")
	acceptRow  = flag.String("accept", "", "only this row of the acceptance")
	acceptTell = flag.Bool("accept-tell", false, "tell of each miss")
)

// acceptance is what a detector must do inside the region that is answered for.
type acceptance struct {
	Injection
	runs   int
	found  float64                             // least share inside the region
	p99    float64                             // s; 0: no bound
	most   float64                             // s; 0: no bound
	judged func(Report) (ok bool, what string) // what else must be right of a run that was found
}

// counted is what became of the loads of a row.
type counted struct {
	injected, inside, found, itself, wrong int
	latency                                []float64
	worst                                  uint64
	as                                     map[fault.Code]int
}

var lawOfTests = sync.OnceValue(func() *colour.Surface {
	film, err := profiles.OpticalConstants("TiO2-Jolivet-amorphous")
	substrate, err2 := profiles.OpticalConstants("Ti-Johnson")
	light, err3 := profiles.Illuminant("D65")
	s, err4 := colour.NewSurface(film, substrate, profiles.Observer(), light, colour.Options{})
	if err := cmp.Or(err, err2, err3, err4); err != nil {
		panic(err)
	}
	return s
})

// TestAcceptance holds each detector to the bounds of its region. By itself it runs a few
// loads of each; -accept-runs=1000 shows what a rate needs.
func TestAcceptance(t *testing.T) {
	for _, a := range acceptances {
		if *acceptRow != "" && !strings.HasPrefix(a.ID, *acceptRow) {
			continue
		}
		t.Run(a.ID, func(t *testing.T) {
			c := a.run(t, cmp.Or(*acceptRuns, a.runs), *acceptSeed)
			t.Log(c.line(a))
			require.Positive(t, c.inside, "no load was inside the region")
			least := a.found
			if c.inside < 100 { // of few loads one may be missed where some may
				least = math.Min(a.found, 1-1/float64(c.inside))
			}
			if a.found == 1 {
				least = 1
			}
			assert.GreaterOrEqual(t, float64(c.found)/float64(c.inside), least, "found, worst seed %d", c.worst)
			slices.Sort(c.latency)
			if n := len(c.latency); a.p99 > 0 && n > 0 {
				assert.LessOrEqual(t, c.latency[min(n-1, int(0.99*float64(n)))], a.p99, "latency of 99 of 100")
			}
			if n := len(c.latency); a.most > 0 && n > 0 {
				assert.LessOrEqual(t, c.latency[n-1], a.most, "longest latency")
			}
			assert.LessOrEqual(t, float64(c.wrong), math.Ceil((1-a.found)*float64(c.inside)), "wrongly told")
		})
	}
}

func (a acceptance) run(t *testing.T, runs int, seed uint64) counted {
	reports := make([]Report, runs)
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.NumCPU() {
		wait.Go(func() {
			for k := range next {
				r, err := Run(context.Background(), OneFault(seed+uint64(k), a.Injection, lawOfTests()))
				if !assert.NoError(t, err) {
					continue
				}
				reports[k] = r
			}
		})
	}
	for k := range runs {
		next <- k
	}
	close(next)
	wait.Wait()
	c := counted{as: map[fault.Code]int{}}
	for _, r := range reports {
		c.take(t, a, r)
	}
	return c
}

func (c *counted) take(t *testing.T, a acceptance, r Report) {
	if r.Case.Injection == nil {
		return
	}
	v := r.Verdict()
	if v.Found == NotInjected {
		return
	}
	c.injected++
	if !v.Inside {
		return
	}
	c.inside++
	if v.Found == Missed {
		c.miss(t, a, r, "missed")
		return
	}
	c.found++
	c.as[v.As]++
	if v.Found == AsItself {
		c.itself++
	}
	c.latency = append(c.latency, v.Latency)
	if a.judged != nil {
		if ok, what := a.judged(r); !ok {
			c.wrong++
			c.miss(t, a, r, what)
		}
	}
	if a.most > 0 && v.Latency > a.most {
		c.miss(t, a, r, fmt.Sprintf("after %.2f s", v.Latency))
	}
}

func (c *counted) miss(t *testing.T, a acceptance, r Report, what string) {
	if c.worst == 0 {
		c.worst = r.Case.Seed
	}
	if !*acceptTell {
		return
	}
	p := r.Case.Setup.Parameters
	t.Logf("%s seed %d: %s; at %.1f s %.2f V %.4f A, held %.1f, limited %v, parts %d, area %.0f, ramp %.2f to %.0f V, limit %.3f A, series %.2f of %.2f ohm (%.0f ohm cm2), gas %.4f, steps %g V %g A, tick %v, slew %.0f, settle %.2f; %v %v %v", a.ID, r.Case.Seed, what, r.Onset, r.OnsetVolts, r.OnsetAmperes, r.OnsetHeld, r.OnsetLimited,
		r.Plan.Parts, float64(r.Plan.Area), float64(r.Plan.Ramp), float64(r.Plan.TargetVolts), float64(r.Plan.CurrentLimit), seriesOf(&r.Case), float64(r.Plan.Law.Series), seriesOf(&r.Case)*areaOf(&r.Case),
		p.Meter.GasNoise, p.Meter.VoltStep, p.Meter.AmpereStep, r.Case.Tick, p.Output.Slew, p.Meter.Settle, r.Result.Outcome, r.Result.Trip, told(r))
}

func told(r Report) (list []string) {
	for _, f := range r.Result.Findings {
		if f.Code != fault.ContactNotProven {
			list = append(list, fmt.Sprintf("%s at %.1f %v", f.Code, f.AtSeconds, f.Evidence))
		}
	}
	return list
}

func (c *counted) line(a acceptance) string {
	slices.Sort(c.latency)
	at := func(p float64) float64 {
		if len(c.latency) == 0 {
			return math.NaN()
		}
		return c.latency[min(len(c.latency)-1, int(p*float64(len(c.latency))))]
	}
	missed := c.inside - c.found
	var as []string
	for _, code := range slices.Sorted(maps.Keys(c.as)) {
		as = append(as, fmt.Sprintf("%s %d", code, c.as[code]))
	}
	return fmt.Sprintf("%-24s injected %4d inside %4d found %4d itself %4d missed %3d (<= %.2f %%) wrong %d, latency p50 %.2f p95 %.2f p99 %.2f max %.2f s, worst %d; %s",
		a.ID, c.injected, c.inside, c.found, c.itself, missed, 100*upperBound(missed, max(1, c.inside)), c.wrong, at(0.5), at(0.95), at(0.99), at(1), c.worst, strings.Join(as, ", "))
}
