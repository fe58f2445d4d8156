package report

import (
	"math"
	"slices"
	"sort"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// sample is a value at a moment.
type sample struct{ t, value float64 }

// gapSeconds is the longest distance between readings that a line bridges.
const gapSeconds = 0.5

// pieces splits a curve where readings are missing, so that a gap is a gap.
func pieces(samples []sample, longest float64) [][]sample {
	var out [][]sample
	var piece []sample
	for _, s := range samples {
		late := len(piece) > 0 && s.t-piece[len(piece)-1].t > longest
		if late || math.IsNaN(s.value) {
			out, piece = append(out, piece), nil
		}
		if !math.IsNaN(s.value) {
			piece = append(piece, s)
		}
	}
	out = append(out, piece)
	return slices.DeleteFunc(out, func(p []sample) bool { return len(p) < 2 })
}

// longestStep is what counts as a gap: half a second, or three ticks of a slow curve.
func longestStep(rows []record.Row) float64 {
	var steps []float64
	for i := 1; i < len(rows); i++ {
		steps = append(steps, float64(rows[i].T-rows[i-1].T))
	}
	if len(steps) == 0 {
		return gapSeconds
	}
	sort.Float64s(steps)
	return math.Max(gapSeconds, 3*steps[len(steps)/2])
}

// thin keeps of each column of the picture its first, least, greatest and last
// sample, so that a spike of one reading stays visible.
func thin(samples []sample, column float64) []sample {
	var out []sample
	for start := 0; start < len(samples); {
		end := start
		slot := math.Floor(samples[start].t / column)
		least, most := start, start
		for end < len(samples) && math.Floor(samples[end].t/column) == slot {
			if samples[end].value < samples[least].value {
				least = end
			}
			if samples[end].value > samples[most].value {
				most = end
			}
			end++
		}
		keep := []int{start, least, most, end - 1}
		slices.Sort(keep)
		for _, i := range slices.Compact(keep) {
			out = append(out, samples[i])
		}
		start = end
	}
	return out
}

// between cuts a piece to a span of time, with its ends interpolated.
func between(piece []sample, from, to float64) []sample {
	var out []sample
	for i, s := range piece {
		if i > 0 && piece[i-1].t < from && s.t > from {
			out = append(out, sample{from, interpolate(piece[i-1], s, from)})
		}
		if s.t >= from && s.t <= to {
			out = append(out, s)
		}
		if i > 0 && piece[i-1].t < to && s.t > to {
			out = append(out, sample{to, interpolate(piece[i-1], s, to)})
		}
	}
	return out
}

func interpolate(a, b sample, t float64) float64 {
	return a.value + (b.value-a.value)*(t-a.t)/(b.t-a.t)
}

// energised are the rows from the first energised second on.
func energised(rows []record.Row) []record.Row {
	first := sort.Search(len(rows), func(i int) bool { return rows[i].T >= 0 })
	return rows[first:]
}

func voltsOf(rows []record.Row) []sample {
	out := make([]sample, len(rows))
	for i, row := range rows {
		out[i] = sample{float64(row.T), float64(row.Volts)}
	}
	return out
}

func densityOf(rows []record.Row, area unit.SquareCentimetres) []sample {
	out := make([]sample, len(rows))
	for i, row := range rows {
		out[i] = sample{float64(row.T), float64(row.Amperes.Over(area))}
	}
	return out
}

// highest is the greatest value of some samples, 0 where there is none.
func highest(samples []sample) float64 {
	most := 0.0
	for _, s := range samples {
		if s.value > most {
			most = s.value
		}
	}
	return most
}
