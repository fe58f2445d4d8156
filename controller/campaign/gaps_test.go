package campaign_test

import (
	"flag"
	"math/rand/v2"
	"testing"
	"time"

	"anodized/controller/campaign"
	"anodized/controller/fault"
	"anodized/hal/unit"
	"anodized/hal/virtual"

	"github.com/stretchr/testify/assert"
)

var gapRuns = flag.Int("gap-runs", 40, "loads in good order whose readings have gaps")

// TestGapsInTheReadingsAreNoFaultOfTheLoad leaves 0.2 s to 0.9 s between readings, time and
// again, in loads in good order: what is not seen proves nothing.
func TestGapsInTheReadingsAreNoFaultOfTheLoad(t *testing.T) {
	outcomes, falses := map[string]int{}, map[fault.Code]int{}
	for _, r := range each(t, *gapRuns, func(seed uint64) campaign.Report {
		c := campaign.Healthy(seed, surface(), campaign.Spread{})
		random := rand.New(rand.NewPCG(seed, 1))
		for at := 2.0; at < 250; at += 1 + 7*random.Float64() {
			c.Setup.Faults = append(c.Setup.Faults, virtual.Fault{ID: "no-reading", At: virtual.AfterOn(unit.Seconds(at)),
				For: time.Duration((0.1+0.7*random.Float64())*float64(time.Second)) - c.Tick}) // a tick more lies between the readings
		}
		r, err := campaign.Run(t.Context(), c)
		assert.NoError(t, err)
		return r
	}) {
		outcomes[string(r.Result.Outcome)]++
		for _, code := range r.FalseFindings() {
			if code != fault.RecordGap {
				falses[code]++
			}
		}
		assert.Empty(t, r.FalseTrip(), "seed %d: %v", r.Case.Seed, r.Result.Findings)
	}
	assert.Empty(t, falses)
	t.Log(outcomes, falses)
}

// TestABusyMachineIsNoFaultOfTheLoad lets a tick in three come more than a tick late, all
// through loads in good order.
func TestABusyMachineIsNoFaultOfTheLoad(t *testing.T) {
	outcomes, falses := map[string]int{}, map[fault.Code]int{}
	for _, r := range each(t, *gapRuns, func(seed uint64) campaign.Report {
		c := campaign.Healthy(seed, surface(), campaign.Spread{})
		c.Tick, c.Jitter = 100*time.Millisecond, 1+rand.New(rand.NewPCG(seed, 3)).Float64()
		r, err := campaign.Run(t.Context(), c)
		assert.NoError(t, err)
		return r
	}) {
		outcomes[string(r.Result.Outcome)]++
		for _, code := range r.FalseFindings() {
			falses[code]++
		}
		assert.Empty(t, r.FalseTrip(), "seed %d: %v", r.Case.Seed, r.Result.Findings)
	}
	assert.Empty(t, falses)
	t.Log(outcomes, falses)
}

// TestARackThatFallsOffOnABusyMachineIsToldAtOnce: late ticks took the current before the
// fall out of sight, and the fall itself stood for noise; it was told after 4 s then.
func TestARackThatFallsOffOnABusyMachineIsToldAtOnce(t *testing.T) {
	for _, seed := range []uint64{50008707, 50076907, 50084107} {
		r, err := campaign.Run(t.Context(), campaign.Draw(seed, surface()))
		assert.NoError(t, err)
		v := r.Verdict()
		assert.Greater(t, r.Case.Jitter, 1.0, "seed %d: a busy machine", seed)
		assert.Equal(t, fault.ContactLost, v.As, "seed %d", seed)
		assert.Less(t, v.Latency, 0.6, "seed %d", seed)
	}
}

// TestDipsOfTheSupplyAreNoLooseContact lets the output sink for moments in loads in
// good order: the volts fell, so the current may.
func TestDipsOfTheSupplyAreNoLooseContact(t *testing.T) {
	droops := 0
	for _, r := range each(t, *gapRuns/2, func(seed uint64) campaign.Report {
		c := campaign.Healthy(seed, surface(), campaign.Spread{})
		random := rand.New(rand.NewPCG(seed, 2))
		for at := 15.0; at < 250; at += 2 + 3*random.Float64() {
			c.Setup.Faults = append(c.Setup.Faults, virtual.Fault{ID: "supply-droop", At: virtual.AfterOn(unit.Seconds(at)),
				For: time.Duration((0.1 + 0.3*random.Float64()) * float64(time.Second)), Size: 0.9 + 0.099*random.Float64()})
		}
		r, err := campaign.Run(t.Context(), c)
		assert.NoError(t, err)
		return r
	}) {
		for _, code := range r.FalseFindings() {
			assert.NotEqual(t, fault.ContactIntermittent, code, "seed %d: %v", r.Case.Seed, r.Result.Findings)
			if code == fault.SupplyDroop {
				droops++
			}
		}
	}
	assert.Positive(t, droops)
}
