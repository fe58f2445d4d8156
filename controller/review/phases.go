package review

import (
	"math"
	"slices"

	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// Facts are what a curve itself tells of how it was run.
type Facts struct {
	Target     unit.Volts          // the highest volts, or the highest setpoint
	Ramp       unit.VoltsPerSecond // its pace on the way there
	CheckRamp  unit.VoltsPerSecond // pace of a slow beginning; 0 where there is none
	Limit      unit.Amperes        // current limit; 0 where the curve has none
	FirstAt    unit.Seconds        // time of the file at the first energised second
	Tick       unit.Seconds
	VoltStep   unit.Volts
	AmpereStep unit.Amperes
	Zero       unit.Amperes // current with the output off; 0 where not seen
}

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

func (c Curve) facts(rows []record.Row, smooth []float64, top float64) Facts {
	f := Facts{Target: unit.Volts(top), Ramp: rampOf(rows, smooth, top)}
	var ticks []float64
	for i := 1; i < len(rows); i++ {
		ticks = append(ticks, float64(rows[i].T-rows[i-1].T))
	}
	f.Tick = unit.Seconds(median(ticks))
	f.VoltStep = unit.Volts(leastStep(rows, func(r record.Row) float64 { return float64(r.Volts) }))
	f.AmpereStep = unit.Amperes(leastStep(rows, func(r record.Row) float64 { return float64(r.Amperes) }))
	if zero, known := zeroOf(rows); known {
		f.Zero = unit.Amperes(zero)
	}
	if c.HasSet {
		f.Target = unit.Volts(most(rows, func(r record.Row) float64 { return float64(r.Set) }))
	}
	if c.HasLimit {
		f.Limit = unit.Amperes(most(rows, func(r record.Row) float64 { return float64(r.Limit) }))
	}
	return f
}

func most(rows []record.Row, of func(record.Row) float64) float64 {
	values := make([]float64, len(rows))
	for i, row := range rows {
		values[i] = of(row)
	}
	return highest(values)
}

// leastStep is the smallest difference of neighbours: the step of the reading.
func leastStep(rows []record.Row, of func(record.Row) float64) float64 {
	least := math.Inf(1)
	for i := 1; i < len(rows); i++ {
		if step := math.Abs(of(rows[i]) - of(rows[i-1])); step > 1e-9 && step < least {
			least = step
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// pace is how fast the volts rise from a row over the next two seconds, NaN where
// the curve has less than one.
func pace(rows []record.Row, smooth []float64, from int) float64 {
	to := from
	for to+1 < len(rows) && rows[to+1].T-rows[from].T <= 2 {
		to++
	}
	if span := float64(rows[to].T - rows[from].T); span > 1 {
		return (smooth[to] - smooth[from]) / span
	}
	return math.NaN()
}

// rampOf is the median pace between 15 and 80 % of the highest volts; volts that
// stepped there took a second at most.
func rampOf(rows []record.Row, smooth []float64, top float64) unit.VoltsPerSecond {
	var paces []float64
	for i := range rows {
		ramping := process.State(rows[i].State) == process.Ramping && smooth[i] > 0.15*top && smooth[i] < 0.8*top
		if p := pace(rows, smooth, i); ramping && p > 0 {
			paces = append(paces, p)
		}
	}
	if len(paces) == 0 {
		return unit.VoltsPerSecond(math.Max(top, 0.01))
	}
	return unit.VoltsPerSecond(median(paces))
}

// A slow beginning counts as a contact check where it lies between these volts and
// is slower than this share of the ramp.
const (
	leastCheck = 1.5
	mostCheck  = 15.0
	slowShare  = 0.75
)

// markCheck makes a slow beginning of the ramp a contact check, and returns its
// pace; 0 where there is none.
func markCheck(rows []record.Row, smooth []float64, ramp unit.VoltsPerSecond) unit.VoltsPerSecond {
	var slow []float64
	first := -1
	for i := range rows {
		if process.State(rows[i].State) != process.Ramping {
			continue
		}
		if first < 0 {
			first = i
		}
		p := pace(rows, smooth, i)
		if math.IsNaN(p) || smooth[i] > mostCheck {
			return 0
		}
		if p >= slowShare*float64(ramp) {
			return checked(rows[first:i], smooth[i], slow)
		}
		slow = append(slow, p)
	}
	return 0
}

func checked(rows []record.Row, volts float64, slow []float64) unit.VoltsPerSecond {
	if volts < leastCheck || len(slow) == 0 {
		return 0
	}
	for i := range rows {
		rows[i].State = uint8(process.ContactCheck)
	}
	return unit.VoltsPerSecond(math.Max(median(slow), 0.01))
}

// bench is what the estimators may know of the instruments behind a curve. A zero
// is subtracted where it matters: beyond two steps and a tenth of the end current.
func (f Facts) bench(end unit.Amperes) watch.Bench {
	b := watch.Bench{Tick: f.Tick, Settle: foreignSettle, VoltStep: f.VoltStep, AmpereStep: f.AmpereStep}
	if zero := unit.Amperes(math.Abs(float64(f.Zero))); zero > max(2*f.AmpereStep, end/10) {
		b.Zero = f.Zero
	}
	return b
}

// foreignSettle is how long an unknown supply may take to follow its setpoint.
const foreignSettle unit.Seconds = 0.5
