package campaign_test

import (
	"cmp"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"
)

// row is one way to end a load, opened many times, and how late a bare timer was meanwhile.
type row struct {
	openings []trace
	bare     []time.Duration
}

// shares of the openings that are within a figure; 1 is the longest.
var shares = []float64{0.5, 0.99, 0.999, 1}

// report sorts the figures, tells the way of the slowest ones, and returns the table's row.
func (r row) report(b *testing.B) string {
	raw := figures(r.openings, func(t trace) time.Duration { return t.took })
	ours := figures(r.openings, trace.ours)
	bare := figures(r.bare, func(d time.Duration) time.Duration { return d })
	for i, name := range []string{"p50-ms", "p99-ms", "p99.9-ms", "longest-ms"} {
		b.ReportMetric(raw[i], name)
	}
	b.ReportMetric(ours[3], "ours-longest-ms")
	b.ReportMetric(bare[3], "bare-longest-ms")
	b.ReportMetric(0, "ns/op")
	slices.SortFunc(r.openings, func(a, b trace) int { return cmp.Compare(b.took, a.took) })
	for _, slow := range r.openings[:min(4, len(r.openings))] {
		b.Log(slow)
	}
	line := fmt.Sprintf("%6d", len(r.openings))
	for _, all := range [][]float64{raw, ours, bare} {
		line += fmt.Sprintf("  %8.2f%8.1f%8.1f%8.1f", all[0], all[1], all[2], all[3])
	}
	return line
}

// figures are the durations within which these shares are, in ms.
func figures[T any](all []T, of func(T) time.Duration) []float64 {
	took := make([]time.Duration, len(all))
	for i, one := range all {
		took[i] = of(one)
	}
	slices.Sort(took)
	found := make([]float64, len(shares))
	for i, share := range shares {
		if len(took) > 0 {
			found[i] = float64(took[int(share*float64(len(took)-1))].Microseconds()) / 1000
		}
	}
	return found
}

// table is all rows below each other, in ms, with the load of this computer.
func table(names []string, rows map[string]string) string {
	load := "?"
	if text, err := os.ReadFile("/proc/loadavg"); err == nil {
		load = strings.TrimSpace(string(text))
	}
	var all strings.Builder
	fmt.Fprintf(&all, "ms, load %s\n%-46s openings  %-32s  %-32s  %s\n", load, "", "off on the wire p50 p99 p99.9 max", "without what a bare timer was late", "bare timer")
	for _, name := range names {
		if rows[name] != "" { // else it was not asked for
			fmt.Fprintf(&all, "%-48s%s\n", name, rows[name])
		}
	}
	return all.String()
}
