package controller

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"sync"
	"time"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/watch"
	"anodized/hal"
	"anodized/hal/unit"
)

// wire is a supply and a lid switch that write down what they are told.
type wire struct {
	mu       sync.Mutex
	said     []string
	set      unit.Volts
	limit    unit.Amperes
	on       bool
	least    hal.Limits // its least values
	lid      [2]bool
	fail     map[string]error // by the first word of what is said
	hang     map[string]bool  // until the context ends
	state    hal.State        // added to what Check says
	measured int
	now      func() time.Time
}

func newWire(now func() time.Time) *wire {
	return &wire{lid: [2]bool{true, true}, fail: map[string]error{}, hang: map[string]bool{}, now: now}
}

// say keeps a line and returns what the fault of that line is.
func (w *wire) say(ctx context.Context, what, line string) error {
	w.mu.Lock()
	w.said = append(w.said, line)
	hang, err := w.hang[what], w.fail[what]
	w.mu.Unlock()
	if hang {
		<-ctx.Done()
		return fmt.Errorf("%s: %w", what, ctx.Err())
	}
	return err
}

func (w *wire) lines() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return append([]string(nil), w.said...)
}

func (w *wire) change(f func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	f()
}

func (w *wire) isOn() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.on
}

func (w *wire) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	if err := w.say(ctx, "volt", fmt.Sprintf("volt %.2f", v)); err != nil {
		return 0, err
	}
	v = max(v, w.least.LeastVolts)
	w.change(func() { w.set = v })
	return v, nil
}

func (w *wire) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	if err := w.say(ctx, "curr", fmt.Sprintf("curr %.2f", a)); err != nil {
		return 0, err
	}
	a = max(a, w.least.LeastAmperes)
	w.change(func() { w.limit = a })
	return a, nil
}

func (w *wire) Limits() hal.Limits {
	return hal.Limits{HighestVolts: 120, HighestAmperes: 5, VoltStep: 0.01, AmpereStep: 0.001,
		Settle: 150 * time.Millisecond, Exchange: 300 * time.Millisecond, MainsReturn: "halted"}
}

func (w *wire) Energise(ctx context.Context) error {
	if err := w.say(ctx, "on", "on"); err != nil {
		return err
	}
	w.change(func() { w.on = true })
	return nil
}

func (w *wire) Energised(context.Context) (bool, error) { return w.isOn(), nil }

func (w *wire) Halt(ctx context.Context) error {
	if err := w.say(ctx, "off", "off"); err != nil {
		return err
	}
	w.change(func() { w.on = false })
	return nil
}

func (w *wire) Measure(ctx context.Context) (hal.Sample, error) {
	w.change(func() { w.measured++ })
	if err := w.say(ctx, "measure", "measure"); err != nil {
		return hal.Sample{}, err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	sample := hal.Sample{Mode: hal.ModeOff, At: w.now()}
	if w.on {
		sample.Volts, sample.Amperes, sample.Mode = w.set, 0.1, hal.ModeConstantVoltage
	}
	return sample, nil
}

func (w *wire) Check(ctx context.Context) (hal.State, error) {
	if err := w.say(ctx, "check", "check"); err != nil {
		return hal.State{}, err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	state := w.state
	state.SetVolts, state.LimitAmperes, state.Output = w.set, w.limit, w.on
	return state, nil
}

func (w *wire) Identify(context.Context) (hal.Identity, error) {
	return hal.Identity{Model: "FAKE"}, nil
}

func (w *wire) Channels(ctx context.Context) (hal.Channels, error) {
	if err := w.say(ctx, "lid", "lid"); err != nil {
		return hal.Channels{}, err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	return hal.Channels{Closed: w.lid, At: w.now()}, nil
}

// steps is a simulated clock of tenths of a second, with gaps where asked. It
// stops after the last step.
type steps struct {
	mu   sync.Mutex
	at   time.Time
	left int
	gaps map[int]time.Duration // after so many steps
	done int
}

func newSteps(count int) *steps { return &steps{at: time.Unix(0, 0), left: count} }

var errEnough = fmt.Errorf("no more steps")

func (s *steps) Next(ctx context.Context) (time.Time, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.done == s.left {
		return time.Time{}, errEnough
	}
	s.done++
	s.at = s.at.Add(100*time.Millisecond + s.gaps[s.done])
	return s.at, ctx.Err()
}

func (s *steps) now() time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.at
}

// script is a pure core that says what it was told to say, one command a tick, and
// the last one for ever. It keeps what it was asked.
type script struct {
	commands []process.Command
	inputs   []process.Input
	found    []fault.Finding
	loaded   int
	decide   func(*process.Input) process.Command // instead of commands
	cycled   bool                                 // the lid
	charged  bool                                 // the cell
}

func (m *script) Load(plan.Plan) bool { m.loaded++; return true }

func (m *script) Pace(unit.Seconds) bool { return true }

func (m *script) Tick(in *process.Input) process.Command {
	m.inputs = append(m.inputs, *in)
	if m.decide != nil {
		return m.decide(in)
	}
	return m.commands[min(len(m.inputs), len(m.commands))-1]
}

func (m *script) Estimates() watch.Estimates                { return process.NewLoop(process.Config{}).Estimates() }
func (m *script) FindingCount() int                         { return len(m.found) }
func (m *script) Findings() []fault.Finding                 { return m.found }
func (m *script) Summary() (process.Summary, bool)          { return process.Summary{EndVolts: 8}, true }
func (m *script) Row() record.Row                           { return record.Row{T: m.inputs[len(m.inputs)-1].Now} }
func (m *script) Bench() watch.Bench                        { return watch.Bench{} }
func (m *script) SafeToOpen() (bool, unit.Volts)            { return !m.charged, 0 }
func (m *script) LidCycled() bool                           { return m.cycled }
func (m *script) LidMoments() (opened, closed unit.Seconds) { return 1, 3 }

// shelf is a recorder in memory.
type shelf struct {
	mu      sync.Mutex
	intents []record.Intent
	rows    []record.Row
	notes   []record.Event
	results []record.Result
	order   []string
	begin   func(context.Context) error // may wait or fail
	finish  func(context.Context) error
	append  func()
}

func (s *shelf) Begin(ctx context.Context, in record.Intent) (string, error) {
	if s.begin != nil {
		if err := s.begin(ctx); err != nil {
			return "", err
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.intents = append(s.intents, in)
	s.order = append(s.order, "begin")
	return fmt.Sprint(len(s.intents)), nil
}

func (s *shelf) Append(row record.Row) {
	if s.append != nil {
		s.append()
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.rows = append(s.rows, row)
	s.order = append(s.order, "row")
}

func (s *shelf) Note(ev record.Event) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.notes = append(s.notes, ev)
	s.order = append(s.order, "note "+ev.Kind)
}

func (s *shelf) Finish(ctx context.Context, res record.Result) error {
	if s.finish != nil {
		if err := s.finish(ctx); err != nil {
			return err
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.results = append(s.results, res)
	s.order = append(s.order, "finish")
	return nil
}

// stand is a Station on fakes.
type stand struct {
	*Station
	wire  *wire
	shelf *shelf
	core  *script
	pace  *steps
}

func newStand(ticks int, o Options, commands ...process.Command) *stand {
	pace := newSteps(ticks)
	w, shelf, core := newWire(pace.now), &shelf{}, &script{commands: commands}
	d := Devices{Supply: w, Interlock: w, Simulated: true, Identity: hal.Identity{Maker: "SIMULATED"}}
	s := newStation(d, pace, shelf, quiet(), o.withDefaults(), w.Limits())
	s.machine = core
	return &stand{s, w, shelf, core, pace}
}

func quiet() *slog.Logger { return slog.New(slog.NewTextHandler(io.Discard, nil)) }

func request() Request {
	return Request{Plan: plan.Plan{ID: "p", Profile: "straw", Rack: "spacers", TargetVolts: 8, Area: 200}}
}

// only keeps the lines that command something.
func only(lines []string) []string {
	var kept []string
	for _, line := range lines {
		if line != "measure" && line != "check" && line != "lid" {
			kept = append(kept, line)
		}
	}
	return kept
}
