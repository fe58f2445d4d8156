package campaign_test

import (
	"flag"
	"math"
	"slices"
	"testing"

	"anodized/controller/campaign"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	faultRuns = flag.Int("fault-runs", 1, "loads for each sort of fault")
	before    = flag.Uint64("before-seed", 0, "seed before the first of them")
	only      = flag.String("fault", "", "only this sort of fault")
)

// never may be missed: persons and equipment hang on it.
var never = []string{"interlock-open", "interlock-disagrees", "interlock-gone", "output-stuck-on", "short-circuit", "supply-silent",
	"supply-unplugged", "no-reading", "supply-tripped", "supply-restarted", "setpoint-ignored", "no-contact"}

// TestFaultsAreFound puts one fault of each sort into loads and counts what became of it.
func TestFaultsAreFound(t *testing.T) {
	for _, in := range campaign.Injections() {
		if *only != "" && *only != in.ID {
			continue
		}
		var d campaign.Detection
		for _, r := range each(t, *faultRuns, func(seed uint64) campaign.Report {
			r, err := campaign.Run(t.Context(), campaign.OneFault(seed+*before, in, surface()))
			assert.NoError(t, err)
			return r
		}) {
			v := r.Verdict()
			d.Take(r.Case.Seed, v)
			assert.Empty(t, r.Violations, in.ID)
			if v.Found == campaign.Missed && v.Inside {
				t.Logf("%s, seed %d: missed at %.1f s, %.1f V: %v, findings %v", in.ID, r.Case.Seed, r.Onset, r.OnsetVolts, r.Result.Outcome, r.Result.Findings)
			}
		}
		d.Close()
		t.Logf("%-22s %+v", in.ID, d)
		if slices.Contains(never, in.ID) {
			assert.Zero(t, d.Missed, in.ID)
			assert.Positive(t, d.Found, in.ID)
		}
	}
}

// TestTheBoundOfARateIsTheKnownOne: nothing in n leaves 3/n, the rule of three.
func TestTheBoundOfARateIsTheKnownOne(t *testing.T) {
	for _, n := range []int{30, 300, 30000} {
		var d campaign.Detection
		for range n {
			d.Take(1, campaign.Verdict{Found: campaign.AsItself, Inside: true, Latency: 1})
		}
		d.Close()
		assert.InEpsilon(t, 1-math.Pow(0.05, 1/float64(n)), d.MissedMost, 1e-6, "of %d", n)
	}
	var d campaign.Detection
	for k := range 1000 {
		v := campaign.Verdict{Found: campaign.AsLike, Inside: true, Latency: float64(k)}
		if k < 5 {
			v = campaign.Verdict{Inside: true}
		}
		d.Take(uint64(k)+1, v)
	}
	d.Close()
	assert.Equal(t, 5, d.Missed)
	assert.InDelta(t, 0.0105, d.MissedMost, 0.0001) // 5 of 1,000, computed independently
	assert.EqualValues(t, 1, d.Worst)
}

func TestACampaignIsTheSameForAnyNumberOfWorkers(t *testing.T) {
	run := func(workers int) campaign.Outcome {
		out, err := campaign.Campaign(t.Context(), campaign.Options{Runs: 60, Seed: 2200, Workers: workers, Surface: surface()})
		require.NoError(t, err)
		out.Seconds, out.Process = 0, campaign.Process{}
		return out
	}
	one := run(1)
	assert.Equal(t, one, run(3))
	assert.Empty(t, one.Violations)
	assert.Zero(t, one.FalseTrips)
	assert.Equal(t, 18, one.Healthy.Runs)
}
