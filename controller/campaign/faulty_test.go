package campaign_test

import (
	"flag"
	"testing"

	"anodized/controller/campaign"

	"github.com/stretchr/testify/assert"
)

// faultRuns is how many loads each sort of fault gets.
var faultRuns = flag.Int("fault-runs", 4, "loads for each sort of fault")
var before = flag.Uint64("before-seed", 0, "seed before the first")
var only = flag.String("fault", "", "only this sort of fault")

// TestFaultsAreFound puts one fault of each sort into loads and counts what became of it.
func TestFaultsAreFound(t *testing.T) {
	for _, in := range campaign.Injections() {
		if *only != "" && *only != in.ID {
			continue
		}
		var d campaign.Detection
		as := map[string]int{}
		for k, r := range each(t, *faultRuns, func(seed uint64) campaign.Report {
			r, err := campaign.Run(t.Context(), campaign.OneFault(seed+*before, in, surface()))
			assert.NoError(t, err)
			return r
		}) {
			v := r.Verdict()
			d.Take(uint64(k)+1, v)
			name := string(v.As)
			if v.Found == campaign.Missed && v.Inside {
				name = "MISSED"
				if *only != "" {
					t.Logf("seed %d: N %d step %g gas %.4f onset %.1f s %.1f V %.3f A held %.1f: %v trip %v findings %v", k+1, r.Plan.Parts, r.Case.Setup.Parameters.Meter.AmpereStep, r.Case.Setup.Parameters.Meter.GasNoise, r.Onset, r.OnsetVolts, r.OnsetAmperes, r.OnsetHeld, r.Result.Outcome, r.Result.Trip, r.Result.Findings)
				}
			} else if v.Found == campaign.Missed {
				name = "outside"
			}
			as[name]++
		}
		d.Close()
		t.Logf("%-22s injected %d inside %d found %d as itself %d missed %d p50 %.2f p99 %.2f worst %d %v", in.ID, d.Injected, d.Inside, d.Found, d.AsItself, d.Missed, d.P50, d.P99, d.Worst, as)
	}
}
