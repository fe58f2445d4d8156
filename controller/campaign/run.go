package campaign

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math"
	"math/rand/v2"
	"time"

	"anodized/controller"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// Report is one finished case: what the Station said, and what was true in the
// last tick before the output went off.
type Report struct {
	Case   Case
	Plan   plan.Plan
	Result record.Result
	AtEnd  virtual.Truth // while still energised
	Rows   int

	Onset        float64 // s of the run at which the fault acted; NaN: it never did
	OnsetVolts   float64 // V then
	OnsetAmperes float64 // A then
	OnsetHeld    float64 // s since the target was first reached then, negative before
	OnsetLimited bool    // the current limit regulated then

	Warmest, Coldest float64 // °C of the bath in the run

	Violations []Violation // of what must hold in every run
}

// Run runs one case to its end.
func Run(ctx context.Context, c Case) (Report, error) {
	p, err := plan.Build(c.Request)
	if err != nil {
		return Report{}, fmt.Errorf("seed %d: %w", c.Seed, err)
	}
	bench, err := virtual.New(c.Setup)
	if err != nil {
		return Report{}, fmt.Errorf("seed %d: build the bench: %w", c.Seed, err)
	}
	report := Report{Case: c, Plan: p, Onset: math.NaN(), Warmest: math.Inf(-1), Coldest: math.Inf(1)}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	audit := &auditor{report: &report, opened: math.NaN()}
	pace := &pacer{audit: audit, bench: bench, load: c, held: math.NaN(), random: rand.New(rand.NewPCG(c.Seed, stream+1)), report: &report}
	station := controller.New(controller.Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Thermometer: bench.Thermometer(),
		Contactor: bench.Contactor(), EmergencyStop: bench.EmergencyStop(), Simulated: true},
		pace, &memory{report: &report, audit: audit}, quiet, controller.Options{Tick: c.Tick, ClockWaits: true})
	events, unsubscribe := station.Subscribe(1)
	defer unsubscribe()
	request := controller.Request{Plan: p, Profile: c.Request.Profile, Rack: c.Request.Rack, Metal: c.Request.Metal,
		Bath: c.Request.Bath, Calibration: c.Request.Calibration, Seed: c.Seed}
	if err := station.Start(request); err != nil {
		return report, fmt.Errorf("seed %d: start: %w", c.Seed, err)
	}
	done := make(chan error, 1)
	go func() { done <- station.Run(ctx) }()
	for e := range events {
		if e.Kind == controller.KindResult {
			report.Result = *e.Result
			cancel()
		}
	}
	// a supply that is gone cannot be switched off, and the Station says so at its end
	if err := <-done; err != nil && (c.Injection == nil || report.Result.Outcome == "") {
		return report, fmt.Errorf("seed %d: %w", c.Seed, err)
	}
	if report.Result.Outcome == "" {
		return report, fmt.Errorf("seed %d: the run gave no result", c.Seed)
	}
	audit.end()
	return report, nil
}

var quiet = slog.New(slog.NewTextHandler(io.Discard, nil))

// longest is the simulated time after which a case has lost its way.
const longest = 2 * time.Hour

var errLost = errors.New("two simulated hours passed without an end")

// pacer moves the bench by ticks that are late by chance, and keeps the truth of
// the last energised one.
type pacer struct {
	audit  *auditor
	bench  *virtual.Bench
	load   Case
	random *rand.Rand
	due    time.Duration
	report *Report
	now    virtual.Truth
	held   float64 // s of the run at which the target was reached; NaN before
}

func (p *pacer) Next(ctx context.Context) (time.Time, error) {
	if err := ctx.Err(); err != nil {
		return time.Time{}, err
	}
	if p.due > longest {
		return time.Time{}, errLost
	}
	p.due += p.load.Tick
	late := time.Duration(p.load.Jitter * p.random.Float64() * float64(p.load.Tick))
	p.bench.AdvanceTo(p.due + late)
	p.bench.TruthInto(&p.now)
	p.watch(&p.now)
	p.audit.see(&p.now)
	if p.now.Output {
		p.report.AtEnd, p.now = p.now, p.report.AtEnd // the slices are used in turn
	}
	return p.bench.Now(), nil
}

// watch notes where the load was as its fault began. One that was there before, or
// that is no line of the timetable, began with the run.
func (p *pacer) watch(t *virtual.Truth) {
	if t.RunSeconds < 0 {
		return
	}
	if math.IsNaN(p.held) && t.Volts >= 0.995*float64(p.report.Plan.TargetVolts)-0.2 {
		p.held = t.RunSeconds
	}
	r := p.report
	r.Warmest, r.Coldest = math.Max(r.Warmest, t.Celsius), math.Min(r.Coldest, t.Celsius)
	if p.load.Injection == nil || !math.IsNaN(r.Onset) || len(p.load.Setup.Faults) > 0 && len(t.Faults) == 0 {
		return
	}
	if shows := p.load.Injection.shows; shows != nil && !shows(t) {
		return
	}
	r.Onset = t.RunSeconds
	if len(t.Faults) > 0 && p.load.Injection.shows == nil {
		r.Onset = math.Max(0, t.RunSeconds-t.Seconds+t.Faults[0].Since.Seconds())
	}
	was := t
	if r.AtEnd.Output {
		was = &r.AtEnd // the tick before
	}
	r.OnsetVolts, r.OnsetAmperes, r.OnsetLimited = was.Volts, was.Amperes, was.Limited
	r.OnsetHeld = -1
	if !math.IsNaN(p.held) {
		r.OnsetHeld = t.RunSeconds - p.held
	}
}

// memory is a record that keeps counts only.
type memory struct {
	report *Report
	audit  *auditor
}

func (m *memory) Begin(context.Context, record.Intent) (string, error) {
	m.audit.begun = true
	return "1", nil
}

func (m *memory) Append(record.Row)                           { m.report.Rows++ }
func (m *memory) Note(record.Event)                           {}
func (m *memory) Finish(context.Context, record.Result) error { return nil }

// Errors are the relative errors of a finished run against the plant.
type Errors struct {
	Area, EndDensity, ThicknessByVolts, ThicknessByCharge float64
}

// Against compares a result with the truth. The live area of a bath that loses
// charge is area over efficiency; the density is on the declared area.
func (r Report) Against() Errors {
	truth, declared := r.AtEnd, float64(r.Plan.Area)
	thinnest := truth.Film[0]
	area := 0.0
	for _, part := range r.Case.Setup.Parts {
		area += float64(part.Area) * float64(max(part.Count, 1))
	}
	return Errors{
		Area:              relative(r.Result.LiveArea, area*r.Plan.Law.Efficiency/r.Case.Setup.Parameters.Film.Efficiency),
		EndDensity:        relative(r.Result.EndDensity, float64(unit.Amperes(truth.FilmAmperes).Over(unit.SquareCentimetres(declared)))),
		ThicknessByVolts:  relative(r.Result.ThicknessByVolts, thinnest),
		ThicknessByCharge: relative(r.Result.ThicknessByCharge, thinnest),
	}
}

func relative(got *float64, want float64) float64 {
	if got == nil {
		return 1
	}
	return *got/want - 1
}
