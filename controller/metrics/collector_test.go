package metrics

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/record"
)

// standing is a source whose snapshot stands still.
type standing struct{ snapshot controller.Snapshot }

func (s *standing) Snapshot() *controller.Snapshot { return &s.snapshot }

func holding() *standing {
	return &standing{controller.Snapshot{
		State: "holding", Simulated: true,
		Interlock: controller.InterlockView{Closed: true, Channels: [2]bool{true, true}, AgeMS: 100},
		Supply:    controller.SupplyView{SetVolts: 70, Volts: 69.99, Amperes: 0.043, Output: "on", AgeMS: 50},
		Bath:      controller.BathView{Celsius: 21.4, AgeMS: 900},
		Voltmeter: controller.VoltmeterView{Fitted: true, Volts: 69.98, AgeMS: 300},
		Estimates: controller.EstimatesView{LiveArea: 201, Charge: 54.1, ThicknessByVolts: 145.8, ThicknessByCharge: 145.1,
			Density: 0.215, SeriesOhm: 3.1},
		Progress: controller.Progress{Fraction: 0.8},
		Loop: controller.LoopView{Lateness: 0.001, Took: 0.004, Overruns: 2, Errors: controller.Errors{Supply: 3},
			Late: controller.Times{Within: [len(controller.TimeBounds)]uint64{90, 5, 0, 2, 0, 0, 0, 0, 1}, Count: 99, Sum: 2.75},
			Long: controller.Times{Within: [len(controller.TimeBounds)]uint64{0, 0, 0, 99}, Count: 99, Sum: 0.396}},
	}}
}

func collector(source Source) *Collector {
	return New(source, Options{Version: "1.2.3", Now: func() time.Time { return time.UnixMilli(1_700_000_000_500) },
		Journal: func() Journal { return Journal{QueueRows: 7, Rows: 1200, WriteSeconds: 0.012} }})
}

func TestAllMetricsOfAHold(t *testing.T) {
	c := collector(holding())
	c.Count(controller.Event{Kind: controller.KindState})
	c.Count(controller.Event{Kind: controller.KindResult, Result: &record.Result{Outcome: record.Tripped,
		Trip: &record.Trip{Code: fault.ContactLost}, Findings: []fault.Finding{{Code: fault.ContactLost}, {Code: fault.RecordGap}}}})
	want, err := os.Open("testdata/holding.prom")
	require.NoError(t, err)
	defer func() { require.NoError(t, want.Close()) }()
	require.NoError(t, testutil.CollectAndCompare(c, want,
		"anodized_supply_volts", "anodized_supply_amperes", "anodized_supply_set_volts", "anodized_supply_output",
		"anodized_film_metres", "anodized_film_by_charge_metres", "anodized_live_area_square_metres", "anodized_charge_coulombs",
		"anodized_current_density_amperes_per_square_metre", "anodized_bath_celsius", "anodized_bath_series_ohms",
		"anodized_interlock_closed", "anodized_state", "anodized_simulated", "anodized_run_progress_ratio", "anodized_runs_total",
		"anodized_reading_age_seconds", "anodized_device_errors_total", "anodized_tick_duration_seconds",
		"anodized_tick_lateness_seconds", "anodized_tick_overruns_total", "anodized_rows_dropped_total", "anodized_journal_queue_rows",
		"anodized_journal_rows_total", "anodized_journal_write_seconds", "anodized_last_run_timestamp_seconds", "anodized_build_info"))
}

func TestCountsAreByCode(t *testing.T) {
	c := collector(holding())
	one := controller.Event{Kind: controller.KindResult, Result: &record.Result{Outcome: record.Tripped,
		Trip: &record.Trip{Code: fault.ContactLost}, Findings: []fault.Finding{{Code: fault.RecordGap}}}}
	c.Count(one)
	c.Count(one)
	text := exposed(t, c)
	for _, line := range []string{
		`anodized_trips_total{code="contact-lost"} 2`, `anodized_trips_total{code="short-circuit"} 0`,
		`anodized_findings_total{code="record-gap"} 2`, `anodized_runs_total{outcome="tripped"} 2`, `anodized_runs_total{outcome="complete"} 0`,
	} {
		assert.Contains(t, text, line)
	}
	for _, trip := range fault.Trips() {
		assert.Contains(t, text, `anodized_trips_total{code="`+string(trip.Code)+`"}`)
	}
}

// exposed is what a scrape would read.
func exposed(t *testing.T, c *Collector) string {
	t.Helper()
	registry := prometheus.NewPedanticRegistry()
	require.NoError(t, registry.Register(c))
	families, err := registry.Gather()
	require.NoError(t, err)
	var b strings.Builder
	for _, family := range families {
		for _, one := range family.GetMetric() {
			b.WriteString(line(family, one))
		}
	}
	return b.String()
}

func TestWhatIsNotKnownIsLeftOut(t *testing.T) {
	source := holding()
	source.snapshot.Supply.Volts, source.snapshot.Supply.AgeMS = controller.Unknown(), controller.Unknown()
	source.snapshot.Estimates.LiveArea = controller.Unknown()
	source.snapshot.Bath = controller.BathView{Celsius: controller.Unknown(), AgeMS: controller.Unknown()}
	source.snapshot.Voltmeter = controller.VoltmeterView{Volts: controller.Unknown(), AgeMS: controller.Unknown()}
	text := exposed(t, New(source, Options{}))
	for _, name := range []string{"anodized_supply_volts", "anodized_live_area", "anodized_bath_celsius", "anodized_journal", `anodized_reading_age_seconds{device="thermometer"}`, `anodized_reading_age_seconds{device="supply"}`, `anodized_reading_age_seconds{device="voltmeter"}`, "NaN", "last_run"} {
		assert.NotContains(t, text, name)
	}
	assert.Contains(t, text, "anodized_supply_amperes")
}

func TestUnknownOutputIsNeitherOnNorOff(t *testing.T) {
	source := holding()
	source.snapshot.Supply.Output = "unknown"
	text := exposed(t, collector(source))
	assert.Contains(t, text, `anodized_supply_output{state="unknown"} 1`)
	assert.Contains(t, text, `anodized_supply_output{state="off"} 0`)
	assert.Contains(t, text, `anodized_supply_output{state="on"} 0`)
}

func TestLintIsClean(t *testing.T) {
	problems, err := testutil.CollectAndLint(collector(holding()))
	require.NoError(t, err)
	assert.Empty(t, problems)
}
