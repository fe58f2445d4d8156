package campaign_test

import (
	"testing"

	"anodized/controller/campaign"
)

// BenchmarkHealthyRun is one drawn load with plan, plant, Station and result.
func BenchmarkHealthyRun(b *testing.B) {
	surface := surface()
	seconds, n := 0.0, uint64(0)
	for b.Loop() {
		n++
		r, err := campaign.Run(b.Context(), campaign.Healthy(n%50+1, surface, campaign.Spread{}))
		if err != nil {
			b.Fatal(err)
		}
		seconds += *r.Result.EnergisedSeconds
	}
	b.ReportMetric(seconds/float64(b.N), "simulated_s/op")
}

// BenchmarkCampaign is a campaign of so many loads, as many at a time as there are
// processors: an op is one load of the mixture of blocks with all that judges it.
func BenchmarkCampaign(b *testing.B) {
	surface := surface()
	b.ResetTimer()
	out, err := campaign.Campaign(b.Context(), campaign.Options{Runs: b.N, Seed: 1, Surface: surface})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(out.Process.CPUMSARun, "processor_ms/op")
}
