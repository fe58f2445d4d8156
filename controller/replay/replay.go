package replay

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// Replay is a watch that has seen the rows of a run again.
type Replay struct {
	Watch *watch.Watch
	Last  record.Row // the last energised one
	Seen  bool       // an energised row was there
	Trace []Point

	bench watch.Bench
	trips []fault.Finding
}

// Point is what the readings had said by a moment. NaN: not known.
type Point struct {
	T                 unit.Seconds
	ThicknessByVolts  unit.Nanometres
	ThicknessByCharge unit.Nanometres
	LiveArea          unit.SquareCentimetres
}

// OfRun replays a recorded run with the plan and the bench that its intent froze.
func OfRun(run record.Run) *Replay {
	in := run.Intent
	bench := watch.Bench{Tick: in.TickSeconds, Settle: in.Bench.Settle, VoltStep: in.Bench.VoltStep,
		AmpereStep: in.Bench.AmpereStep, Zero: in.Bench.Zero,
		Voltmeter: in.Bench.Voltmeter, MeterSettle: in.Bench.MeterSettle}
	return Of(in.Plan, bench, run.Rows, offMoment(run.Events))
}

// Of gives rows to a watch, each under the command that was in force when it was
// read, as the run did. OffAt is when the output went off, NaN where that is not told.
func Of(p plan.Plan, b watch.Bench, rows []record.Row, offAt unit.Seconds) *Replay {
	r := &Replay{Watch: watch.New(p, b), bench: b}
	for _, row := range rows {
		energised := process.State(row.State).Energised()
		if r.Seen && !energised {
			r.off(offAt)
			break
		}
		if energised && !math.IsNaN(float64(row.T)) && !math.IsInf(float64(row.T), 0) {
			r.take(row)
		}
	}
	return r
}

// offMoment is when the run left its last energised state, NaN where it is not told.
func offMoment(events []record.Event) unit.Seconds {
	for _, event := range events {
		if event.Kind == "state" && (event.Code == process.Discharging.String() || event.Text == process.Discharging.String()) {
			return event.T
		}
	}
	return unit.Seconds(math.NaN())
}

func (r *Replay) take(row record.Row) {
	r.Last, r.Seen = row, true
	r.Watch.Stage(int(row.Stage))
	r.Watch.Update(r.tick(row))
	if code := r.Watch.Trip(); code != "" && !Has(r.trips, code) {
		r.trips = append(r.trips, fault.OfTrip(code, float64(row.T)))
	}
	e := r.Watch.Estimates()
	r.Trace = append(r.Trace, Point{row.T, e.ThicknessByVolts, e.ThicknessByCharge, e.LiveArea})
}

func (r *Replay) tick(row record.Row) watch.Tick {
	ok := !math.IsNaN(float64(row.Volts)) && !math.IsNaN(float64(row.Amperes))
	return watch.Tick{T: row.T, OK: ok, Volts: row.Volts, Amperes: row.Amperes, Set: row.Set, Limit: row.Limit, Meter: row.Meter,
		Bath: row.Bath, BathOK: !math.IsNaN(float64(row.Bath)),
		Limited: ok && process.Limited(process.Mode(row.Mode), row.Volts, row.Amperes, row.Set, row.Limit, r.bench.AmpereStep),
		Phase:   process.PhaseOf(process.State(row.State))}
}

// off closes the last phase at the moment in which the output went off.
func (r *Replay) off(at unit.Seconds) {
	if math.IsNaN(float64(at)) || at < r.Last.T {
		at = r.Last.T
	}
	r.Watch.Update(watch.Tick{T: at, Phase: watch.PhaseOff})
}
