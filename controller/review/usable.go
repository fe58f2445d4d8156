package review

import (
	"fmt"
	"math"
	"slices"

	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
)

// What a curve needs before it is judged. Our choices: below two readings a second
// a lost part is over before it is seen; in less than five seconds nothing has
// grown; with a tenth of it missing too much may have happened unseen.
const (
	leastRate    = 2.0 // readings a second
	leastSeconds = 5.0
	mostMissing  = 0.1 // share of the energised time
	longestGap   = 0.5 // s, beyond which charge is not known
)

// usable judges the readings of the energised rows.
func usable(p plan.Plan, rows []record.Row) Usable {
	u := Usable{Why: []string{}}
	times, first, last := readingTimes(rows)
	if !(p.Area > 0) {
		u.Why = append(u.Why, "the wetted area is not declared: give it, a current density needs it")
	}
	if len(times) == 0 {
		u.Why = append(u.Why, "no reading with the output on")
		return u.zeroed(p, rows)
	}
	if len(times) < 3 || last-first < leastSeconds {
		u.Why = append(u.Why, fmt.Sprintf("only %.1f s of readings with the output on, at least %.0f s are needed", max(0, last-first), leastSeconds))
		return u.zeroed(p, rows)
	}
	u = u.rated(times)
	for _, step := range steps(times) {
		if step > longestGap && step > 3/max(*u.Rate, leastRate) {
			u.Gaps, u.GapSeconds = u.Gaps+1, u.GapSeconds+step
		}
	}
	if u.GapSeconds > mostMissing*(last-first) {
		u.Why = append(u.Why, fmt.Sprintf("%.1f s of %.1f s are without readings", u.GapSeconds, last-first))
	}
	return u.zeroed(p, rows)
}

func (u Usable) rated(times []float64) Usable {
	all := steps(times)
	slices.Sort(all)
	rate := 1 / math.Max(all[len(all)/2], 1e-9)
	u.Rate = &rate
	if rate < leastRate*(1-1e-9) {
		u.Why = append(u.Why, fmt.Sprintf("%.2f readings a second, at least %.0f are needed", rate, leastRate))
	}
	return u
}

// zeroed checks what the current read with the output off, before the run.
func (u Usable) zeroed(p plan.Plan, rows []record.Row) Usable {
	mean, known := zeroOf(rows)
	if known {
		u.Zero = &mean
	}
	if end := float64(p.End.Current); known && end > 0 && math.Abs(mean) > 0.5*end {
		u.Why = append(u.Why, fmt.Sprintf("the current reads %.4f A with the output off, more than half of the end current of %.4f A: zero the meter", mean, end))
	}
	u.OK = len(u.Why) == 0
	return u
}

// leastZero is how many readings with the output off make a zero.
const leastZero = 5

// zeroOf is the mean current of the rows before the output was first on.
func zeroOf(rows []record.Row) (float64, bool) {
	sum, n := 0.0, 0
	for _, row := range rows {
		if process.State(row.State).Energised() {
			break
		}
		if i := float64(row.Amperes); !math.IsNaN(i) {
			sum, n = sum+i, n+1
		}
	}
	return sum / math.Max(1, float64(n)), n >= leastZero
}

// readingTimes are the moments of the energised readings.
func readingTimes(rows []record.Row) (times []float64, first, last float64) {
	for _, row := range rows {
		if process.State(row.State).Energised() && !math.IsNaN(float64(row.Volts)) && !math.IsNaN(float64(row.Amperes)) {
			times = append(times, float64(row.T))
		}
	}
	if len(times) > 0 {
		first, last = times[0], times[len(times)-1]
	}
	return times, first, last
}

func steps(times []float64) []float64 {
	var out []float64
	for i := 1; i < len(times); i++ {
		out = append(out, times[i]-times[i-1])
	}
	return out
}
