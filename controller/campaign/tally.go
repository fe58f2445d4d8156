package campaign

import (
	"math"
	"slices"
)

// Detection is what became of all faults of one sort. Missed counts only where the
// fault had to be seen.
type Detection struct {
	Row        string  `json:"row"` // of the catalogue
	Injected   int     `json:"injected"`
	Inside     int     `json:"inside_region"`
	Found      int     `json:"found"` // as itself or as what it may be taken for
	AsItself   int     `json:"found_as_itself"`
	AsLike     int     `json:"found_as_look_alike"`
	Refused    int     `json:"refused"` // of these, before anything was energised
	Missed     int     `json:"missed"`
	Outside    int     `json:"missed_outside_region"`
	MissedMost float64 `json:"missed_share_95"` // upper bound of the share inside the region, 95 %
	P50        float64 `json:"latency_p50_s"`
	P95        float64 `json:"latency_p95_s"`
	P99        float64 `json:"latency_p99_s"`
	Longest    float64 `json:"latency_max_s"`
	Bound      float64 `json:"latency_bound_s"` // 0: none is stated
	Late       int     `json:"over_bound"`
	Worst      uint64  `json:"worst_seed"` // of the first miss, else of the longest latency

	MissedSeeds []uint64 `json:"missed_seeds,omitempty"` // the first of them

	latency []float64
}

// mostSeeds is how many missed seeds a report lists of one sort.
const mostSeeds = 20

// Take adds a run.
func (d *Detection) Take(seed uint64, v Verdict) {
	if v.Found == NotInjected {
		return
	}
	d.Injected++
	if v.Inside {
		d.Inside++
	}
	switch {
	case v.Found == Missed && v.Inside:
		if d.Missed == 0 {
			d.Worst = seed
		}
		d.Missed++
		if len(d.MissedSeeds) < mostSeeds {
			d.MissedSeeds = append(d.MissedSeeds, seed)
		}
	case v.Found == Missed:
		d.Outside++
	default:
		d.take(seed, v)
	}
}

func (d *Detection) take(seed uint64, v Verdict) {
	d.Found++
	if v.Found == AsItself {
		d.AsItself++
	} else {
		d.AsLike++
	}
	if v.As == refusedWord {
		d.Refused++
	}
	if !v.Inside || math.IsNaN(v.Latency) {
		return
	}
	d.latency = append(d.latency, v.Latency)
	if d.Bound > 0 && v.Latency > d.Bound {
		d.Late++
	}
	if d.Missed == 0 && v.Latency >= d.Longest {
		d.Worst = seed
	}
	d.Longest = math.Max(d.Longest, v.Latency)
}

// Close works out the figures that need all runs.
func (d *Detection) Close() {
	slices.Sort(d.latency)
	if n := len(d.latency); n > 0 {
		at := func(share float64) float64 { return d.latency[min(n-1, int(math.Ceil(share*float64(n))))] }
		d.P50, d.P95, d.P99 = d.latency[n/2], at(0.95), at(0.99)
	}
	if d.Inside > 0 {
		d.MissedMost = upperBound(d.Missed, d.Inside)
	}
}

// upperBound is the exact 95 % bound of a share of which k were seen in n, by
// bisection of the binomial (Clopper and Pearson, Biometrika 26 (1934) 404).
func upperBound(k, n int) float64 {
	low, high := float64(k)/float64(n), 1.0
	for range 50 {
		middle := (low + high) / 2
		if atMost(k, n, middle) > 0.05 {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// atMost is the chance of at most k of n.
func atMost(k, n int, p float64) float64 {
	if p >= 1 {
		return 0
	}
	sum, term := 0.0, float64(n)*math.Log1p(-p)
	for i := range k + 1 {
		sum += math.Exp(term)
		term += math.Log(float64(n-i)/float64(i+1)) + math.Log(p) - math.Log1p(-p)
	}
	return sum
}
