package campaign

import (
	"math"
	"testing"

	"anodized/controller/metrics"

	"github.com/prometheus/client_golang/prometheus"
	dto "github.com/prometheus/client_model/go"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNoScrapeOfARunIsANonsense scrapes loads of disorder, whose readings are any float at
// all, while they run and after: no value of a metric is infinite, not a number, or a
// device's word for "no reading".
func TestNoScrapeOfARunIsANonsense(t *testing.T) {
	scrapes := 0
	for seed := uint64(19); seed < 19+20*30; seed += 20 {
		r, err := prepare(t.Context(), Draw(seed, Surface()))
		require.NoError(t, err)
		require.NotNil(t, r.report.Case.Chaos)
		r.connect()
		require.NoError(t, r.begin())
		registry := prometheus.NewPedanticRegistry()
		require.NoError(t, registry.Register(metrics.New(r.station, metrics.Options{})))
		done := make(chan error, 1)
		go func() { done <- r.station.Run(t.Context()) }()
		for running := true; running; scrapes++ {
			select {
			case err := <-done:
				running = false
				require.ErrorIs(t, err, errOver)
			default:
			}
			families, err := registry.Gather()
			require.NoError(t, err)
			for _, family := range families {
				for _, one := range family.Metric {
					x := valueOf(one)
					assert.False(t, math.IsNaN(x) || math.Abs(x) > mostPlausible, "seed %d: %s is %v", seed, family.GetName(), x)
				}
			}
		}
	}
	assert.Greater(t, scrapes, 40, "some of them while the loads ran")
}

func valueOf(m *dto.Metric) float64 {
	switch {
	case m.Gauge != nil:
		return m.Gauge.GetValue()
	case m.Counter != nil:
		return m.Counter.GetValue()
	}
	return m.Histogram.GetSampleSum()
}
