package proof

import (
	"math"
	"slices"
)

// Spread is a series of latencies in ms: median, 99th percentile, longest, and jitter, the
// mean difference between one and the next.
func Spread(ms []float64) (Latency, Number) {
	if len(ms) == 0 {
		return Latency{Unknown(), Unknown(), Unknown()}, Unknown()
	}
	sorted := slices.Sorted(slices.Values(ms))
	last := len(sorted) - 1
	at := func(share float64) Number { return Number(sorted[int(math.Ceil(share*float64(len(sorted))))-1]) }
	return Latency{Median: at(0.5), P99: at(0.99), Max: Number(sorted[last])}, jitter(ms)
}

func jitter(ms []float64) Number {
	if len(ms) < 2 {
		return Unknown()
	}
	sum := 0.0
	for i := 1; i < len(ms); i++ {
		sum += math.Abs(ms[i] - ms[i-1])
	}
	return Number(sum / float64(len(ms)-1))
}

// moments are the mean and the standard deviation of readings.
func moments(x []float64) (mean, deviation float64) {
	if len(x) == 0 {
		return math.NaN(), math.NaN()
	}
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		deviation += (v - mean) * (v - mean) / math.Max(1, float64(len(x)-1))
	}
	return mean, math.Sqrt(deviation)
}

// step is the smallest difference between readings that differ, not below a floor of what
// a number in a message can mean; NaN where all are the same.
func step(x []float64) float64 {
	const floor = 1e-7
	sorted := slices.Sorted(slices.Values(x))
	least := math.NaN()
	for i := 1; i < len(sorted); i++ {
		if d := sorted[i] - sorted[i-1]; d > floor && !(d >= least) {
			least = d
		}
	}
	return least
}
