package campaign_test

import (
	"flag"
	"math"
	"runtime"
	"slices"
	"sync"
	"testing"

	"anodized/controller/campaign"
	"anodized/controller/record"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// surface is the default film on the default metal.
var surface = campaign.Surface

// healthyRuns is how many loads in good order are run in all, half of them with a
// calibration that is a little wrong. The seeds are 1 and up.
var healthyRuns = flag.Int("healthy-runs", 300, "loads in good order")

// each runs seeds in parallel, as many at a time as there are processors.
func each(t *testing.T, seeds int, do func(seed uint64) campaign.Report) []campaign.Report {
	t.Helper()
	reports := make([]campaign.Report, seeds)
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.NumCPU() {
		wait.Go(func() {
			for k := range next {
				reports[k] = do(uint64(k) + 1)
			}
		})
	}
	for k := range seeds {
		next <- k
	}
	close(next)
	wait.Wait()
	return reports
}

var tell = flag.String("tell", "", "print the evidence of this finding")

func healthy(t *testing.T, seeds int, s campaign.Spread) []campaign.Report {
	return each(t, seeds, func(seed uint64) campaign.Report {
		r, err := campaign.Run(t.Context(), campaign.Healthy(seed, surface(), s))
		assert.NoError(t, err)
		return r
	})
}

// ended checks that a healthy run came to the end that its plan foretold.
func ended(t *testing.T, r campaign.Report) {
	t.Helper()
	if r.Result.Outcome == record.Complete {
		return
	}
	foretold := r.Plan.Expected.Outcome == string(record.TimeRanOut) && r.Result.Outcome == record.TimeRanOut
	assert.True(t, foretold, "seed %d: %v, trip %+v, reasons %v, findings %+v, plan said %v", r.Case.Seed, r.Result.Outcome, r.Result.Trip, r.Result.Reasons, r.Result.Findings, r.Plan.Expected.Outcome)
}

// TestHealthyRunsNeverTrip is the spread of a bench in good order.
func TestHealthyRunsNeverTrip(t *testing.T) {
	reports := healthy(t, *healthyRuns/2, campaign.Spread{})
	for _, r := range reports {
		ended(t, r)
	}
	report(t, "believed calibration", reports)
}

// TestHealthyRunsWithTheirOwnCalibration holds the estimates against the plant.
func TestHealthyRunsWithTheirOwnCalibration(t *testing.T) {
	reports := healthy(t, *healthyRuns/2, campaign.Spread{OwnCalibration: true})
	for _, r := range reports {
		ended(t, r)
	}
	worst := report(t, "own calibration", reports)
	assert.Less(t, worst[0], 0.05, "live area, 95th percentile")
	assert.Less(t, worst[1], 0.05, "end density, 95th percentile, meters with as few as five steps to the end current among them")
	assert.Less(t, worst[2], 0.03, "thickness by volts, 95th percentile")
	assert.Less(t, worst[3], 0.03, "thickness by charge, 95th percentile")
	fine := slices.DeleteFunc(reports, func(r campaign.Report) bool {
		return r.Case.Setup.Parameters.Meter.AmpereStep > float64(r.Plan.End.Current)/20
	})
	assert.Less(t, report(t, "own calibration, 20 steps or more to the end current", fine)[1], 0.02, "end density, 95th percentile")
}

// report logs median, 95th percentile and worst of each error, and returns the
// 95th percentiles.
func report(t *testing.T, what string, reports []campaign.Report) (percentile95 [4]float64) {
	t.Helper()
	var all [4][]float64
	outcomes := map[record.Outcome]int{}
	findings := map[string]int{}
	falses := map[string]int{}
	for _, r := range reports {
		outcomes[r.Result.Outcome]++
		for _, code := range r.FalseFindings() {
			falses[string(code)]++
		}
		for _, f := range r.Result.Findings {
			findings[string(f.Code)]++
			if *tell != "" && string(f.Code) == *tell {
				t.Logf("seed %d: %v area %.0f step %g gas %.4f native %.1f ramp %.2f target %.1f", r.Case.Seed, f.Evidence, float64(r.Plan.Area), r.Case.Setup.Parameters.Meter.AmpereStep, r.Case.Setup.Parameters.Meter.GasNoise, r.Case.Setup.Parameters.Film.Native, float64(r.Plan.Ramp), float64(r.Plan.TargetVolts))
			}
		}
		if r.Result.Outcome != record.Complete && r.Result.Outcome != record.TimeRanOut {
			continue
		}
		e := r.Against()
		for k, x := range []float64{e.Area, e.EndDensity, e.ThicknessByVolts, e.ThicknessByCharge} {
			all[k] = append(all[k], math.Abs(x))
		}
	}
	t.Logf("%s: %v, findings %v, false %v", what, outcomes, findings, falses)
	for k, name := range []string{"live area", "end density", "thickness by volts", "thickness by charge"} {
		require.NotEmpty(t, all[k])
		slices.Sort(all[k])
		at := func(p float64) float64 { return all[k][int(p*float64(len(all[k])-1))] }
		percentile95[k] = at(0.95)
		t.Logf("%-20s median %.2f %%, 95th percentile %.2f %%, worst %.2f %%", name, 100*at(0.5), 100*at(0.95), 100*at(1))
	}
	return percentile95
}
