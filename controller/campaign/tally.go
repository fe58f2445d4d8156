package campaign

import (
	"math"
	"slices"
)

// Detection is what became of all faults of one sort. Missed counts only where the
// fault had to be seen.
type Detection struct {
	Injected   int     `json:"injected"`
	Inside     int     `json:"inside_region"`
	Found      int     `json:"found"` // as itself or as what it may be taken for
	AsItself   int     `json:"found_as_itself"`
	Missed     int     `json:"missed"`
	MissedMost float64 `json:"missed_share_95"` // upper bound of the share, 95 %
	P50        float64 `json:"latency_p50_s"`
	P99        float64 `json:"latency_p99_s"`
	Worst      uint64  `json:"worst_seed"` // of the first miss, else of the longest latency

	latency []float64
	longest float64
}

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
	case v.Found != Missed:
		d.take(seed, v)
	}
}

func (d *Detection) take(seed uint64, v Verdict) {
	d.Found++
	if v.Found == AsItself {
		d.AsItself++
	}
	if !v.Inside {
		return
	}
	d.latency = append(d.latency, v.Latency)
	if d.Missed == 0 && v.Latency >= d.longest {
		d.longest, d.Worst = v.Latency, seed
	}
}

// Close works out the figures that need all runs.
func (d *Detection) Close() {
	slices.Sort(d.latency)
	if n := len(d.latency); n > 0 {
		d.P50, d.P99 = d.latency[n/2], d.latency[min(n-1, int(math.Ceil(0.99*float64(n))))]
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
