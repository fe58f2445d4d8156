package process

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// Loop is one bench's tick: watch looks at the readings, then the machine decides.
// The Station, the simulation and the campaign all turn this one.
type Loop struct {
	machine *Machine
	watch   *watch.Watch
	plan    plan.Plan
	cfg     Config
	last    Command
	row     record.Row
	seen    Seen
	closed  bool
}

// Summary are the numbers of a result.
type Summary = watch.Summary

// NewLoop returns an idle loop for a bench.
func NewLoop(cfg Config) *Loop {
	return &Loop{machine: New(cfg), cfg: cfg, seen: blank()}
}

// Pace sets the length of a tick; false while the output may be on.
func (l *Loop) Pace(tick unit.Seconds) bool {
	if !l.machine.pace(tick) {
		return false
	}
	l.cfg.Tick = tick
	return true
}

// blank is what is seen before there is anything to see.
func blank() Seen {
	nan := math.NaN()
	return Seen{Estimates: watch.Estimates{LiveArea: unit.SquareCentimetres(nan), LiveAreaSD: unit.SquareCentimetres(nan),
		Charge: unit.Coulombs(nan), ThicknessByVolts: unit.Nanometres(nan), ThicknessByCharge: unit.Nanometres(nan),
		Density: unit.CurrentDensity(nan), Current: unit.Amperes(nan), Volts: unit.Volts(nan), SeriesOhm: unit.Ohms(nan),
		OnsetVolts: unit.Volts(nan), Leak: unit.Amperes(nan), Softness: nan, SecondsLeft: unit.Seconds(nan),
		LeastLeft: unit.Seconds(nan), MostLeft: unit.Seconds(nan), Noise: unit.Amperes(nan)}}
}

// Load sets the plan that the next start begins; false while a run is on.
func (l *Loop) Load(p plan.Plan) bool {
	if !l.machine.Load(p) {
		return false
	}
	l.plan, l.watch, l.seen = p, nil, blank()
	return true
}

// Tick takes one step. But for the tick that begins a run it allocates nothing.
func (l *Loop) Tick(given *Input) Command {
	plausible := *given
	in := &plausible
	in.Reading.OK = in.Reading.OK && l.cfg.plausible(in.Reading)
	tick := l.tick(in)
	l.remember(in, tick)
	if l.watch != nil && !l.closed {
		l.watch.Stage(l.last.Stage)
		l.watch.Update(tick)
		l.seen = look(l.watch)
	}
	before := l.last.State
	l.last = l.machine.Step(in, &l.seen)
	l.change(before, l.last)
	l.rest(in, before)
	return l.last
}

// tick is the reading as watch sees it: under the command that was in force when it
// was taken.
func (l *Loop) tick(in *Input) watch.Tick {
	t := watch.Tick{T: l.since(in.Now), OK: in.Reading.OK, Volts: in.Reading.Volts, Amperes: in.Reading.Amperes,
		Set: l.last.Set, Limit: l.last.Limit, Limited: limited(in.Reading, l.last, l.cfg), Phase: PhaseOf(l.last.State),
		Bath: in.Bath.Celsius, BathOK: in.Bath.OK, Meter: watch.Meter{OK: in.Meter.OK, Volts: in.Meter.Volts, T: l.since(in.Meter.At)}}
	if in.Reading.OK {
		t.T = l.since(in.Reading.At)
	}
	return t
}

// plausible refuses what no reading of this supply can be: not finite, or far
// outside its range. It is then no reading, not a number.
func (c *Config) plausible(r Reading) bool {
	volts, amperes := float64(r.Volts), float64(r.Amperes)
	return volts > -2 && volts < 1.2*float64(c.HighestVolts)+2 &&
		math.Abs(amperes) < 1.2*float64(c.HighestAmperes)+1
}

func (l *Loop) since(t unit.Seconds) unit.Seconds {
	if math.IsNaN(float64(l.machine.start)) {
		return 0
	}
	return t - l.machine.start
}

func limited(r Reading, c Command, cfg Config) bool {
	return Limited(r.Mode, r.Volts, r.Amperes, c.Set, c.Limit, cfg.AmpereStep)
}

// Limited tells whether a supply regulates current: by its own word, or, where it
// does not say, because the current is at its limit and the volts stay below.
func Limited(mode Mode, v unit.Volts, i unit.Amperes, set unit.Volts, limit, step unit.Amperes) bool {
	switch mode {
	case ConstantCurrent:
		return true
	case ConstantVoltage:
		return false
	}
	return limit > 0 && i >= 0.99*limit-2*step && v < set-unit.Volts(math.Max(0.1, 0.005*float64(set)))
}

// PhaseOf is the phase in which watch sees a state.
func PhaseOf(s State) watch.Phase {
	switch s {
	case ContactCheck:
		return watch.PhaseContactCheck
	case Ramping:
		return watch.PhaseRamp
	case Holding:
		return watch.PhaseHold
	}
	return watch.PhaseOff
}

// change begins the watch with the run, and lets it judge the end.
func (l *Loop) change(before State, now Command) {
	if now.State == ContactCheck && before != ContactCheck {
		l.watch, l.closed = watch.New(l.plan, l.Bench()), false
	}
	if l.watch == nil || l.closed || !before.Energised() || now.State.Energised() {
		return
	}
	l.closed = true
	l.watch.Update(watch.Tick{T: l.since(l.machine.now), Phase: watch.PhaseOff})
	Close(l.watch, End{State: l.machine.target, ByTime: now.ByTime, ByEye: now.ByEye})
}

// End is how the energised part of a run ended.
type End struct {
	State  State      // where discharging leads
	ByTime fault.Code // the limit of time that passed, "" for none
	ByEye  bool       // a person saw the colour that was wanted: a good end at any volts
}

// Close lets a watch judge the end of a run: the same for the run and its review.
func Close(w *watch.Watch, e End) {
	if e.ByTime != "" {
		w.RanOut(e.ByTime)
	}
	if e.State != Tripped {
		w.Close(e.State == Complete, e.ByEye)
	}
}

// Bench is what watch knows of the instruments, kept with the record so that a
// review sees the same.
func (l *Loop) Bench() watch.Bench {
	return watch.Bench{Tick: l.cfg.Tick, Settle: l.cfg.Settle, VoltStep: l.cfg.VoltStep, AmpereStep: l.cfg.AmpereStep, Zero: l.machine.Zero(),
		Voltmeter: l.cfg.Voltmeter, MeterSettle: l.cfg.MeterSettle}
}

func (l *Loop) remember(in *Input, t watch.Tick) {
	nan := math.NaN()
	l.row = record.Row{T: t.T, Volts: unit.Volts(nan), Amperes: unit.Amperes(nan), Set: l.last.Set, Limit: l.last.Limit,
		Bath: unit.Celsius(nan), Mode: uint8(in.Reading.Mode), State: uint8(l.last.State), Stage: uint8(l.last.Stage), Output: uint8(l.machine.held.Output)}
	if in.Reading.OK {
		l.row.Volts, l.row.Amperes = in.Reading.Volts, in.Reading.Amperes
	}
	if in.Bath.OK {
		l.row.Bath = in.Bath.Celsius
	}
	l.row.Meter = t.Meter
}

// Row is the last tick as the journal keeps it: the readings, and the command that
// was in force when they were taken.
func (l *Loop) Row() record.Row { return l.row }

// Estimates are what the readings of this run say so far.
func (l *Loop) Estimates() watch.Estimates { return l.seen.Estimates }

// FindingCount is how many findings there are so far; it allocates nothing.
func (l *Loop) FindingCount() int {
	if l.watch == nil {
		return 0
	}
	return l.watch.FindingCount()
}

// Findings are the findings so far.
func (l *Loop) Findings() []fault.Finding {
	if l.watch == nil {
		return nil
	}
	return l.watch.Findings()
}

// Summary are the numbers of the run so far; false before it was energised.
func (l *Loop) Summary() (Summary, bool) {
	if l.watch == nil {
		return Summary{}, false
	}
	return l.watch.Summary(), true
}

// SafeToOpen tells whether the cell is proven dead, and at how many volts.
func (l *Loop) SafeToOpen() (bool, unit.Volts) { return l.machine.SafeToOpen() }

// LidCycled tells whether the lid was opened and closed since the last load, and closed
// for no longer than a start may come after it.
func (l *Loop) LidCycled() bool {
	return l.machine.lid.closed(l.machine.now) && l.machine.lid.cycled(l.machine.now)
}

// LidMoments are when the lid was opened and closed before this run, in seconds of
// the Station's clock.
func (l *Loop) LidMoments() (opened, closed unit.Seconds) {
	return l.machine.lid.openedAt, l.machine.lid.closedSince
}
