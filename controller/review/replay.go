package review

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// replay is a watch that has seen the rows of a run again.
type replay struct {
	watch *watch.Watch
	bench watch.Bench
	last  record.Row // the last energised one
	seen  bool
	trips []fault.Finding
	trace []Point
}

// replayed gives the rows to a watch, each under the command that was in force when
// it was read, as the run did.
func replayed(p plan.Plan, b watch.Bench, rows []record.Row, offAt unit.Seconds) *replay {
	r := &replay{watch: watch.New(p, b), bench: b}
	for _, row := range rows {
		energised := process.State(row.State).Energised()
		if r.seen && !energised {
			r.off(offAt)
			break
		}
		if energised {
			r.take(row)
		}
	}
	return r
}

func (r *replay) take(row record.Row) {
	r.last, r.seen = row, true
	r.watch.Stage(int(row.Stage))
	r.watch.Update(r.tick(row))
	if code := r.watch.Trip(); code != "" {
		r.trip(code, float64(row.T))
	}
	e := r.watch.Estimates()
	r.trace = append(r.trace, Point{row.T, e.ThicknessByVolts, e.ThicknessByCharge, e.LiveArea})
}

func (r *replay) tick(row record.Row) watch.Tick {
	ok := !math.IsNaN(float64(row.Volts)) && !math.IsNaN(float64(row.Amperes))
	return watch.Tick{T: row.T, OK: ok, Volts: row.Volts, Amperes: row.Amperes, Set: row.Set, Limit: row.Limit,
		Limited: ok && process.Limited(process.Mode(row.Mode), row.Volts, row.Amperes, row.Set, row.Limit, r.bench.AmpereStep),
		Phase:   process.PhaseOf(process.State(row.State))}
}

// off closes the last phase at the moment in which the output went off.
func (r *replay) off(at unit.Seconds) {
	if math.IsNaN(float64(at)) || at < r.last.T {
		at = r.last.T
	}
	r.watch.Update(watch.Tick{T: at, Phase: watch.PhaseOff})
}

// trip keeps the first moment at which a trip showed.
func (r *replay) trip(code fault.Code, at float64) {
	if !hasCode(r.trips, code) {
		r.trips = append(r.trips, tripFinding(code, at))
	}
}

func hasCode(list []fault.Finding, code fault.Code) bool {
	for _, f := range list {
		if f.Code == code {
			return true
		}
	}
	return false
}

// tripFinding is a trip as a finding.
func tripFinding(code fault.Code, at float64) fault.Finding {
	row, _ := fault.TripByCode(code)
	return fault.Finding{Code: code, Severity: fault.Fault, AtSeconds: at, Evidence: []string{row.Message},
		Confidence: "certain", Action: row.Action}
}

// findings are those of the watch, then the trips that it showed.
func (r *replay) findings() []fault.Finding {
	list := r.watch.Findings()
	for _, trip := range r.trips {
		if !hasCode(list, trip.Code) {
			list = append(list, trip)
		}
	}
	return list
}

func estimatesOf(p plan.Plan, w *watch.Watch) Estimates {
	s, e := w.Summary(), w.Estimates()
	return Estimates{
		DeclaredArea: record.Known(p.Area), LiveArea: record.Known(s.LiveArea), SeriesOhm: record.Known(s.SeriesOhm),
		OnsetVolts: record.Known(e.OnsetVolts), Leak: record.Known(e.Leak), Charge: record.Known(s.Charge),
		ThicknessByVolts: record.Known(s.ThicknessByVolts), ThicknessByCharge: record.Known(s.ThicknessByCharge),
		EndVolts: record.Known(s.EndVolts), EndCurrent: record.Known(s.EndCurrent), EndDensity: record.Known(s.EndDensity),
		RampSeconds: record.Known(s.RampSeconds), HoldSeconds: record.Known(s.HoldSeconds), EnergisedSeconds: record.Known(s.EnergisedSeconds),
	}
}
