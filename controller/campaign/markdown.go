package campaign

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Markdown is the report for people.
func Markdown(o Outcome) string {
	m := &page{}
	m.head(o)
	m.invariants(o)
	m.healthy(o)
	m.detection(o)
	m.confusion(o)
	m.list("Not run here", o.NotRun)
	return m.String()
}

// page is Markdown in the making.
type page struct{ strings.Builder }

func (m *page) line(format string, values ...any) { fmt.Fprintf(m, format+"\n", values...) }

func (m *page) list(title string, items []string) {
	m.line("## %s\n", title)
	for _, item := range items {
		m.line("* %s", item)
	}
	m.line("")
}

// table writes a table whose cells hold no bar.
func (m *page) table(columns ...string) {
	m.line("| %s |", strings.Join(columns, " | "))
	m.line("|%s", strings.Repeat("---|", len(columns)))
}

func (m *page) head(o Outcome) {
	m.line("# Campaign on the virtual bench (SIMULATED)\n")
	m.line("Everything here is SIMULATED: the Station and its watch, on a plant whose constants are not theirs.\n")
	m.table("", "")
	m.line("| commit | %s |", o.Commit)
	m.line("| machine | %s, %d loads at a time |", o.Machine, o.Process.Workers)
	m.line("| seeds | %d to %d |", o.Seed, o.Seed+uint64(max(o.Runs, 1))-1)
	for _, block := range blockNames {
		m.line("| %s | %d runs |", block, o.Blocks[block])
	}
	m.line("| duration | %.0f s, %.1f ms of a processor a run |", o.Seconds, o.Process.CPUMSARun)
	m.line("| goroutines | %d before, %d after, %d at most |", o.Process.GoroutinesBefore, o.Process.GoroutinesAfter, o.Process.GoroutinesMost)
	m.line("| live heap | %.1f MiB early, %.1f MiB late |", o.Process.HeapEarly, o.Process.HeapLate)
	m.line("| violations | **%d** |", o.broken())
	m.line("| false trips | **%d** of %d; below %.2g of all with 95 %% certainty |", o.FalseTrips, o.Healthy.Runs, o.Healthy.FalseTripMost)
	m.line("\nA load is the same load every time: `anodized virtual-bench campaign --replay SEED` runs it again and tells of it.\n")
	m.list("Spread", o.Spread)
}

func (o Outcome) broken() (n int) {
	for _, j := range o.Invariants {
		n += j.Violations
	}
	return n
}

func (m *page) invariants(o Outcome) {
	m.line("## What must hold in every run\n")
	m.table("What", "Runs judged", "Violations", "How")
	for _, j := range o.Invariants {
		m.line("| %s | %d | %d | %s |", j.Invariant, j.Judged, j.Violations, j.How)
	}
	m.line("")
	for _, v := range o.Violations {
		m.line("* seed %d: %s: %s", v.Seed, v.Invariant, short(v.Detail))
	}
	if len(o.Violations) > 0 {
		m.line("")
	}
}

// short keeps a line of the report a line.
func short(text string) string {
	text, _, _ = strings.Cut(strings.ReplaceAll(text, "|", "/"), "\n")
	if len(text) > 300 {
		return text[:300] + " ..."
	}
	return text
}

func (m *page) healthy(o Outcome) {
	m.line("## In good order\n")
	m.line("%d loads, %d false trips.\n", o.Healthy.Runs, o.FalseTrips)
	for _, seed := range o.TripSeeds {
		m.line("* false trip at seed %d", seed)
	}
	m.table("Outcome", "Loads")
	for _, outcome := range slices.Sorted(maps.Keys(o.Healthy.Outcomes)) {
		m.line("| %s | %d |", outcome, o.Healthy.Outcomes[outcome])
	}
	m.line("")
	m.table("False finding", "Loads", "Share below, 95 %", "First seed")
	for _, code := range slices.Sorted(maps.Keys(o.Healthy.FalseFindings)) {
		m.line("| %s | %d | %.3f %% | %d |", code, o.Healthy.FalseFindings[code], 100*o.Healthy.ShareMost[code], o.Healthy.Seeds[code])
	}
	m.line("")
	m.table("Margin of", "Loads judged", "Most of statistic over threshold", "Its seed")
	for _, code := range slices.Sorted(maps.Keys(o.Healthy.Margins)) {
		margin := o.Healthy.Margins[code]
		m.line("| %s | %d | %.2f | %d |", code, margin.Judged, margin.Most, margin.Seed)
	}
	m.line("")
}

func (m *page) detection(o Outcome) {
	m.line("## One fault\n")
	m.line("Latencies are those inside the region, from the moment at which the fault began to show. A miss is one inside the region; outside of it the share is told and nothing is asked.\n")
	m.table("Fault", "Row", "Injected", "Inside region", "As itself", "As a look-alike", "Refused", "Missed", "Share missed below, 95 %", "Missed outside",
		"p50 s", "p95 s", "p99 s", "Max s", "Bound s", "Over it", "Worst seed")
	for _, in := range Injections() {
		d := o.Detection[in.ID]
		bound, most := "-", "-"
		if d.Bound > 0 {
			bound = fmt.Sprintf("%g", d.Bound)
		}
		if d.Inside > 0 {
			most = fmt.Sprintf("%.2f %%", 100*d.MissedMost)
		}
		m.line("| %s | %s | %d | %d | %d | %d | %d | %d | %s | %d | %.2f | %.2f | %.2f | %.2f | %s | %d | %d |", in.ID, d.Row, d.Injected, d.Inside,
			d.AsItself, d.AsLike, d.Refused, d.Missed, most, d.Outside, d.P50, d.P95, d.P99, d.Longest, bound, d.Late, d.Worst)
	}
	m.line("")
	m.rows(o)
}

// rows are the runs of each row of the catalogue.
func (m *page) rows(o Outcome) {
	names := slices.SortedFunc(maps.Keys(o.Rows), func(a, b string) int { return cmp.Or(cmp.Compare(o.Rows[a], o.Rows[b]), cmp.Compare(a, b)) })
	if len(names) == 0 {
		return
	}
	m.line("%d rows of the catalogue, %d to %d runs each.\n", len(names), o.Rows[names[0]], o.Rows[names[len(names)-1]])
}

func (m *page) confusion(o Outcome) {
	m.line("## First causes\n")
	m.line("What was given as the cause of a load, by what was injected: the trip; \"refused\"; else the first finding that speaks against it; else the outcome.\n")
	m.table("Injected", "Given as")
	for _, injected := range append([]string{"nothing"}, idsOf(Injections())...) {
		causes := o.Confusion[injected]
		if len(causes) == 0 {
			continue
		}
		m.line("| %s | %s |", injected, listed(causes))
	}
	m.line("")
}

// listed are counts, the most first.
func listed(counts map[string]int) string {
	keys := slices.SortedFunc(maps.Keys(counts), func(a, b string) int { return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a, b)) })
	var all []string
	for _, key := range keys {
		all = append(all, fmt.Sprintf("%s %d", key, counts[key]))
	}
	return strings.Join(all, ", ")
}

func idsOf(all []Injection) (ids []string) {
	for _, in := range all {
		ids = append(ids, in.ID)
	}
	return ids
}
