package campaign

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math"
	"runtime/debug"

	"anodized/controller"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/watch"
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
	Kept   Kept          // what came to the record

	Onset        float64 // s of the run at which the first fault acted; NaN: it never did
	OnsetState   string  // the state then
	OnsetVolts   float64 // V then
	OnsetAmperes float64 // A then
	OnsetHeld    float64 // s since the target was first reached then, negative before
	OnsetLimited bool    // the current limit regulated then

	Warmest, Coldest float64 // °C of the bath in the run

	Margins *watch.Margins // of a run whose rows were replayed

	Violations []Violation // of what must hold in every run

	stalled  float64  // s that the ticks stood still, as injected
	disorder []string // faults that disorder put in
}

// Run runs one case to its end. A panic is a violation, not the end of the campaign.
func Run(ctx context.Context, c Case) (Report, error) {
	r, err := prepare(ctx, c)
	if err == nil {
		err = r.run()
	}
	return *r.report, err
}

// runner is one run with all that belongs to it.
type runner struct {
	ctx     context.Context
	report  *Report
	bench   *virtual.Bench
	audit   *auditor
	wire    *wire
	pace    *pacer
	station *controller.Station
}

// prepare plans the load of a case and builds its bench.
func prepare(ctx context.Context, c Case) (*runner, error) {
	r := &runner{ctx: ctx, report: &Report{Case: c, Onset: math.NaN(), OnsetHeld: -1, Warmest: math.Inf(-1), Coldest: math.Inf(1)}}
	p, err := plan.Build(c.Request)
	if err != nil {
		return r, fmt.Errorf("seed %d: %w", c.Seed, err)
	}
	r.report.Plan = p
	if r.bench, err = virtual.New(c.Setup); err != nil {
		return r, fmt.Errorf("seed %d: build the bench: %w", c.Seed, err)
	}
	return r, nil
}

func (r *runner) run() error {
	ctx, cancel := context.WithCancel(r.ctx)
	defer cancel()
	r.connect()
	events, unsubscribe := r.station.Subscribe(1)
	defer unsubscribe()
	_, leave := r.station.Subscribe(1) // a client that never takes anything
	defer leave()
	if err := r.begin(); err != nil {
		return err
	}
	done := make(chan error, 1)
	go func() { done <- guarded(r.report, func() error { return r.station.Run(ctx) }) }()
	for e := range events {
		if e.Kind == controller.KindResult {
			r.report.Result = *e.Result
			if r.report.Case.Chaos == nil {
				cancel()
			}
		}
	}
	return r.ended(<-done)
}

// connect puts the Station between the devices, the record and the pacer.
func (r *runner) connect() {
	c := &r.report.Case
	r.audit = newAuditor(r.report)
	r.pace = newPacer(r)
	r.wire = &wire{supply: r.bench.Supply().(supply), audit: r.audit}
	devices := controller.Devices{Supply: r.wire, Interlock: r.bench.Interlock(), Thermometer: r.bench.Thermometer(),
		Contactor: r.bench.Contactor(), EmergencyStop: r.bench.EmergencyStop(), Voltmeter: r.bench.Voltmeter(), Simulated: true}
	if c.Chaos != nil {
		r.wire.chaos = newChaos(c, r.pace)
		devices.Interlock, devices.Thermometer = r.wire.chaos.lid(devices.Interlock), r.wire.chaos.bath(devices.Thermometer)
	}
	options := controller.Options{Tick: c.Tick, ClockWaits: true, QueueRows: queueRows, WallClock: r.pace.wallClock}
	r.station = controller.New(devices, r.pace, &memory{report: r.report, audit: r.audit}, quiet, options)
	r.pace.station = r.station
}

// queueRows holds what one run gives, so that none is lost however slow this computer is.
const queueRows = 6000

// begin asks for the load.
func (r *runner) begin() error {
	c := &r.report.Case
	if err := r.station.Start(r.request()); err != nil {
		return fmt.Errorf("seed %d: start: %w", c.Seed, err)
	}
	r.audit.starts = 1
	return nil
}

func (r *runner) request() controller.Request {
	c := &r.report.Case
	return controller.Request{Plan: r.report.Plan, Profile: c.Request.Profile, Rack: c.Request.Rack, Metal: c.Request.Metal,
		Bath: c.Request.Bath, Calibration: c.Request.Calibration, Seed: c.Seed}
}

// ended judges the run. A supply that is gone cannot be switched off, and the Station
// says so at its end; in good order that is a mistake.
func (r *runner) ended(err error) error {
	c := &r.report.Case
	given := r.report.Result.Outcome != ""
	switch {
	case errors.Is(err, errPanic):
		return nil // kept as a violation
	case err != nil && (c.Injection == nil && c.Chaos == nil || !given && c.Chaos == nil):
		return fmt.Errorf("seed %d: %w", c.Seed, err)
	case !given && c.Chaos == nil:
		return fmt.Errorf("seed %d: the run gave no result", c.Seed)
	}
	r.audit.end(r.station.Snapshot())
	return nil
}

var errPanic = errors.New("panic")

// guarded makes a violation of a panic.
func guarded(r *Report, do func() error) (err error) {
	defer func() {
		if why := recover(); why != nil {
			r.violate(nothingLeft, "panic: %v\n%s", why, debug.Stack())
			err = errPanic
		}
	}()
	return do()
}

var quiet = slog.New(slog.NewTextHandler(io.Discard, nil))

// memory is a record that keeps what is judged of its rows, and the rows themselves
// where they are to be replayed.
type memory struct {
	report *Report
	audit  *auditor
}

// Kept is what came to the record.
type Kept struct {
	Rows  int
	Gap   float64 // s, the longest between two energised rows
	Last  float64 // s, of the last energised row
	Wrong string  // a number that is none

	Run record.Run // whole, where it is replayed
}

func (m *memory) Begin(_ context.Context, in record.Intent) (string, error) {
	if m.report.Case.NoRecord == recordBegin {
		return "", errDisk
	}
	m.report.Kept.Run.Intent = in
	m.audit.durable = true
	return "1", nil
}

func (m *memory) Append(row record.Row) { m.report.Kept.take(row, m.report.Case.Replayed) }

func (m *memory) Note(ev record.Event) {
	if kept := &m.report.Kept; m.report.Case.Replayed {
		kept.Run.Events = append(kept.Run.Events, ev)
	}
}

func (m *memory) Finish(context.Context, record.Result) error {
	if m.report.Case.NoRecord == recordFinish {
		return errDisk
	}
	return nil
}

var errDisk = errors.New("no space left on the storage")

// Errors are the relative errors of a finished run against the plant.
type Errors struct {
	Area, EndDensity, ThicknessByVolts, ThicknessByCharge float64
}

// Against compares a result with the truth. The live area of a bath that loses
// charge is area over efficiency; the density is on the declared area.
func (r Report) Against() Errors {
	truth, declared := r.AtEnd, float64(r.Plan.Area)
	thinnest := truth.Film[0]
	area := areaOf(&r.Case)
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
