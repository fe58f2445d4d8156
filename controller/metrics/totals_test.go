package metrics

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/record"
)

var update = flag.Bool("update", false, "write the page of totals anew")

// TestAllTotals holds the series that an alert on an increase needs before the first
// one: each code that there is, as 0 until it was seen.
func TestAllTotals(t *testing.T) {
	source := holding()
	source.snapshot.Tick = 1234
	c := collector(source)
	c.Count(controller.Event{Kind: controller.KindResult, Result: &record.Result{Outcome: record.Tripped,
		Trip: &record.Trip{Code: fault.ContactLost}, Findings: []fault.Finding{{Code: fault.ContactLost}, {Code: fault.RecordGap}}}})
	got := page(t, c, "anodized_ticks_total", "anodized_trips_total", "anodized_findings_total")
	const file = "testdata/totals.prom"
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// page is what a scrape would read of these counters.
func page(t *testing.T, c *Collector, names ...string) string {
	t.Helper()
	registry := prometheus.NewPedanticRegistry()
	require.NoError(t, registry.Register(c))
	families, err := registry.Gather()
	require.NoError(t, err)
	var text strings.Builder
	for _, family := range families {
		for _, name := range names {
			if family.GetName() != name {
				continue
			}
			fmt.Fprintf(&text, "# HELP %s %s\n# TYPE %s counter\n", name, family.GetHelp(), name)
			for _, one := range family.GetMetric() {
				text.WriteString(line(family, one))
			}
		}
	}
	return text.String()
}
