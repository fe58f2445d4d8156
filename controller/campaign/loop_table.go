package campaign

import (
	"cmp"
	"slices"
)

// LoopNames are the ways in words.
var LoopNames = [loopRows]string{
	"wanted colour by the book chart", "by the ladder, one pass", "by the ladder, aimed short and stepped up",
	"by a ladder without the film's own table, one pass", "the same, aimed short and stepped up",
	"two days by the ladder", "of these, only the bath 4 K apart", "of these, only the area 15 % wrong", "two days, the second stepped up to the first", "two days at fixed volts, held a minute",
	"two days, the live area of the wrong rack adopted", "the same, aimed short and stepped up to the first",
}

// LoopSum is a way over all worlds, CIEDE2000.
type LoopSum struct {
	Median, P95, Worst float64
	WorstSeed          uint64
	Steps              int // the most
}

// Sum sums a way up.
func (row LoopRow) Sum(all []LoopResult) (s LoopSum) {
	sorted := slices.SortedFunc(slices.Values(all), func(a, b LoopResult) int { return cmp.Compare(a.Off[row], b.Off[row]) })
	at := func(share float64) float64 { return sorted[int(share*float64(len(sorted)-1)+0.5)].Off[row] }
	s = LoopSum{Median: at(0.5), P95: at(0.95), Worst: at(1), WorstSeed: sorted[len(sorted)-1].Seed}
	for _, r := range all {
		s.Steps = max(s.Steps, r.Steps[row])
	}
	return s
}

// LoopTable is the ways as a table for people.
func LoopTable(all []LoopResult) string {
	m := &page{}
	m.line("SIMULATED, %d worlds, CIEDE2000 of the true films\n", len(all))
	m.table("", "median", "95 %", "worst", "its seed", "steps")
	for row, name := range LoopNames {
		s := LoopRow(row).Sum(all)
		m.line("| %s | %.2f | %.2f | %.2f | %d | %d |", name, s.Median, s.P95, s.Worst, s.WorstSeed, s.Steps)
	}
	thrown, others := 0, 0
	for _, r := range all {
		thrown += r.Planned - r.Coupons
		others += len(r.Incomplete) - (r.Planned - r.Coupons)
	}
	if fine := FineMeter(all); len(fine) > 0 {
		s := DaysAdopted.Sum(fine)
		m.line("| the live area adopted, one pass, in the %d worlds whose ammeter has %d steps to the end | %.2f | %.2f | %.2f | %d | |", len(fine), fineSteps, s.Median, s.P95, s.Worst, s.WorstSeed)
	}
	adopted := 0
	for _, r := range all {
		if r.Live > 0 {
			adopted++
		}
	}
	m.line("\nAn area was adopted for %d racks of %d", adopted, len(all))
	m.line("\nNot complete: %d coupons, which were not read, and %d other loads, which were", thrown, others)
	return m.String()
}

// fineSteps are steps of the ammeter to the end current: one is 5 % of it then, and 0.2 % of
// film. Where they are fewer, a load may end a step sooner than the last.
const fineSteps = 20

// FineMeter are the worlds whose ammeter shows the end in many steps.
func FineMeter(all []LoopResult) (fine []LoopResult) {
	for _, r := range all {
		if r.StepsToEnd >= fineSteps {
			fine = append(fine, r)
		}
	}
	return fine
}
