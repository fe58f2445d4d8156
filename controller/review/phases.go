package review

import (
	"math"
	"slices"

	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// Phased gives the rows of a curve the states that its volts show: off until the
// first volts, a contact check where they begin slowly, a ramp until they are within 0.2 V or 0.3 % of the highest, a hold
// after, off where volts and current die away at the end. Times are shifted to the
// first energised second. The rows of the curve stay as they are.
func (c Curve) Phased() ([]record.Row, Facts) {
	rows := commanded(c.Rows)
	smooth := smoothed(rows)
	top := highest(smooth)
	first, end := onFrom(rows, smooth, top), onUntil(rows, smooth, top)
	near := top - math.Max(0.2, 0.003*top)
	state := process.Ramping
	for i := range rows {
		switch {
		case i < first:
			rows[i].State = uint8(process.Checking)
		case i >= end:
			rows[i].State = uint8(process.Discharging)
		default:
			if smooth[i] >= near {
				state = process.Holding
			}
			rows[i].State = uint8(state)
		}
	}
	f := c.facts(rows, smooth, top)
	f.CheckRamp = markCheck(rows, smooth, f.Ramp)
	f.FirstAt = rows[first].T
	for i := range rows {
		rows[i].T -= f.FirstAt
	}
	return rows, f
}

// commanded gives each row the setpoint and limit that were last told. 0 is not
// known: no setpoint asks for nothing.
func commanded(given []record.Row) []record.Row {
	rows := slices.Clone(given)
	set, limit := unit.Volts(0), unit.Amperes(0)
	for i := range rows {
		if !math.IsNaN(float64(rows[i].Set)) {
			set = rows[i].Set
		}
		if !math.IsNaN(float64(rows[i].Limit)) {
			limit = rows[i].Limit
		}
		rows[i].Set, rows[i].Limit = set, limit
	}
	return rows
}

// smoothed are the volts as the median of five readings, NaN only where all are.
func smoothed(rows []record.Row) []float64 {
	out := make([]float64, len(rows))
	for i := range rows {
		var near []float64
		for k := max(0, i-2); k <= min(len(rows)-1, i+2); k++ {
			if v := float64(rows[k].Volts); !math.IsNaN(v) {
				near = append(near, v)
			}
		}
		out[i] = median(near)
	}
	return out
}

func median(values []float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	return sorted[len(sorted)/2]
}

func highest(values []float64) float64 {
	top := 0.0
	for _, v := range values {
		if v > top {
			top = v
		}
	}
	return top
}

func peakCurrent(rows []record.Row) float64 {
	peak := 0.0
	for _, row := range rows {
		if i := float64(row.Amperes); i > peak {
			peak = i
		}
	}
	return peak
}

// onFrom is the first row with the output on: one before the volts leave zero, or
// before current flows.
func onFrom(rows []record.Row, smooth []float64, top float64) int {
	peak := peakCurrent(rows)
	for i, row := range rows {
		if smooth[i] > math.Max(0.3, 0.005*top) || float64(row.Amperes) > 0.05*peak {
			return max(0, i-1)
		}
	}
	return 0
}

// onUntil is the row after the last one with the output on: at the end of the file
// volts that have fallen and no current mean off.
func onUntil(rows []record.Row, smooth []float64, top float64) int {
	peak := peakCurrent(rows)
	end := len(rows)
	for end > 0 {
		v, i := float64(rows[end-1].Volts), float64(rows[end-1].Amperes)
		if math.IsNaN(v) || v < 0.95*top && math.Abs(i) < 0.02*peak {
			end--
			continue
		}
		break
	}
	if end == 0 || smooth[end-1] == 0 {
		return len(rows)
	}
	return end
}
