package review

import (
	"math"

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
