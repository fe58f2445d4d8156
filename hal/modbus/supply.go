package modbus

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"slices"
	"sync/atomic"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// DefaultSupplyTimeout is how long an answer of a supply may take where nothing else
// is said.
const DefaultSupplyTimeout = 500 * time.Millisecond

// SupplyOptions say how a supply is reached and what is where in it.
type SupplyOptions struct {
	Line           *Line
	Unit           int           // 1 to 247; 0 and 255 over TCP as well
	Timeout        time.Duration // of one answer; 0: DefaultSupplyTimeout
	Map            Map
	Loopback       bool          // function 08 echoes a number
	Identification bool          // function 43 is asked at opening for who it is
	Settle         time.Duration // a younger reading does not judge a setpoint
	HighestVolts   unit.Volts    // never asked for more; above 0
	HighestAmperes unit.Amperes  // never asked for more; above 0
	MainsReturn    string
	Log            *slog.Logger  // nil: no log
	Nonce          func() uint16 // a random number; nil: a generator of its own
}

// Supply is a supply whose setpoints, output and readings are Modbus registers. It
// satisfies hal.Supply. One goroutine owns it.
type Supply struct {
	device
	at         Map
	limits     hal.Limits
	log        *slog.Logger
	identifies bool
	identity   hal.Identity
	known      bool

	busy     atomic.Bool
	clean    bool // answers may be believed
	gone     bool // the connection broke since it was last clean
	stranger bool // another device answered: nothing more is said to it

	volts, amperes       []uint16 // what was last written; nil: nothing of ours holds
	voltsSet, amperesSet bool     // since the line last became clean
	energised            bool     // we switched it on and not off again
	mayBeOn              bool     // switching on was tried, and off was not confirmed since
	restarted            bool

	measures, holds, switches, all []block
}

var errBusy = errors.New("a second call while one is under way: one goroutine owns a supply")

func newSupply(o SupplyOptions) (*Supply, error) {
	if err := o.Map.check(); err != nil {
		return nil, fmt.Errorf("map: %w", err)
	}
	if o.Timeout == 0 {
		o.Timeout = DefaultSupplyTimeout
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &Supply{
		device: device{line: o.Line, unit: byte(o.Unit), timeout: o.Timeout, loopback: o.Loopback, nonce: o.Nonce},
		at:     o.Map, log: o.Log, identifies: o.Identification,
		limits: hal.Limits{
			HighestVolts: o.HighestVolts, HighestAmperes: o.HighestAmperes,
			LeastVolts: unit.Volts(o.Map.SetpointVoltage.floor()), LeastAmperes: unit.Amperes(o.Map.SetpointCurrent.floor()),
			VoltStep: unit.Volts(o.Map.SetpointVoltage.step()), AmpereStep: unit.Amperes(o.Map.SetpointCurrent.step()),
			Settle: o.Settle, MainsReturn: o.MainsReturn,
		},
	}
	s.plan()
	return s, o.check()
}

func (o *SupplyOptions) check() error {
	volts, amperes := float64(o.HighestVolts), float64(o.HighestAmperes)
	switch {
	case o.Line == nil:
		return errors.New("supply: no line was given")
	case o.Unit < 0 || o.Unit > 255 || o.Line.framing == RTU && (o.Unit < 1 || o.Unit > 247):
		return fmt.Errorf("supply: unit %d: 1 to 247 are allowed", o.Unit)
	case o.Timeout < time.Millisecond:
		return fmt.Errorf("supply: timeout %v: 1 ms or more is needed", o.Timeout)
	case !(volts > o.Map.SetpointVoltage.floor() && volts <= o.Map.SetpointVoltage.Max):
		return fmt.Errorf("supply: highest voltage %v V: above %v and within the map's max of %v V", volts, o.Map.SetpointVoltage.floor(), o.Map.SetpointVoltage.Max)
	case !(amperes > o.Map.SetpointCurrent.floor() && amperes <= o.Map.SetpointCurrent.Max):
		return fmt.Errorf("supply: highest current %v A: above %v and within the map's max of %v A", amperes, o.Map.SetpointCurrent.floor(), o.Map.SetpointCurrent.Max)
	case !slices.Contains([]string{"halted", "as_before", "energised", "unknown"}, o.MainsReturn):
		return fmt.Errorf("supply: mains_return %q: halted, as_before, energised or unknown is needed", o.MainsReturn)
	}
	return nil
}

// plan works out once what is read together.
func (s *Supply) plan() {
	named := map[string]span{}
	for _, p := range s.at.spans() {
		named[p.name] = p
	}
	status := []span{}
	if s.at.Status != nil {
		status = append(status, named["status"])
	}
	volts, amperes, output := named["setpoint_voltage"], named["setpoint_current"], named["output"]
	s.measures = blocks(append([]span{named["measured_voltage"], named["measured_current"]}, status...)...)
	s.switches = blocks(append([]span{output}, status...)...)
	s.holds = blocks(append([]span{volts, amperes, output}, status...)...)
	s.all = blocks(s.at.spans()...)
	s.unusual = unusual(s.all, s.measures, s.holds, s.switches, blocks(volts), blocks(amperes), blocks(output), blocks(volts, amperes))
	s.switching = questionOf(s.at.Output.command(s.at.Output.Energised))
	s.limits.Exchange = time.Duration(len(s.measures)) * (s.timeout + s.line.gap)
}

// Limits returns what the supply and its line can do. It asks nothing.
func (s *Supply) Limits() hal.Limits { return s.limits }

func (s *Supply) own() error {
	if !s.busy.CompareAndSwap(false, true) {
		return errBusy
	}
	return nil
}

func (s *Supply) disown() { s.busy.Store(false) }

// call has one request answered on the line that was found in step. A device that says
// it is busy is asked once more.
func (s *Supply) call(ctx context.Context, request []byte) ([]byte, error) {
	answer, err := s.steady(ctx, request)
	if exception := Exception(0); errors.As(err, &exception) && exception.waits() {
		s.log.Debug("the supply is busy: asked once more", "err", err)
		answer, err = s.again(ctx, request)
	}
	var exception Exception
	if err != nil && (!errors.As(err, &exception) || exception.is(hal.ErrTimeout)) {
		s.soil(err)
	}
	return answer, err
}

func (s *Supply) again(ctx context.Context, request []byte) ([]byte, error) {
	timer := time.NewTimer(max(s.line.gap, busyPause))
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
	return s.steady(ctx, request)
}

// soil marks the line: nothing is believed, and no setpoint is known to hold.
func (s *Supply) soil(err error) {
	if s.clean {
		s.log.Warn("the supply's line is out of step", "err", err)
	}
	s.clean, s.voltsSet, s.amperesSet = false, false, false
	s.gone = s.gone || errors.Is(err, hal.ErrGone)
}

// settled brings the line back into step where it is not. It leaves the output as it
// was, except on a connection that broke: there "off" is the first thing that a supply
// hears once it is known to be the same one. Where that ended a run it is told as
// hal.ErrRelinked, on a line that is in step by then.
func (s *Supply) settled(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("ask the supply: %w", err)
	}
	if s.clean {
		return nil
	}
	if err := s.reach(ctx); err != nil {
		return err
	}
	lost := s.gone && s.mayBeOn
	if s.gone {
		if err := s.off(ctx); err != nil {
			return err
		}
		s.halted()
	}
	s.clean, s.gone = true, false
	s.log.Info("the supply's line is in step again")
	if lost {
		return fmt.Errorf("the supply: %w", hal.ErrRelinked)
	}
	return nil
}

// halted is an output that was confirmed to be off.
func (s *Supply) halted() {
	s.energised, s.mayBeOn = false, false
	s.line.release(s.unit)
}

func (s *Supply) reach(ctx context.Context) error {
	if err := s.ready(ctx); err != nil {
		s.soil(err)
		return fmt.Errorf("reach the supply: %w", err)
	}
	if s.known {
		return s.recognise(ctx)
	}
	return nil
}

// mapped reads a quantity out of what was fetched.
func (s *Supply) mapped(m memory, q *Quantity) (float64, error) { return q.decode(m.quantity(q)) }

// Measure reads volts, amperes and status in one request where they touch in the map,
// else in two or three that follow each other.
func (s *Supply) Measure(ctx context.Context) (hal.Sample, error) {
	if err := s.own(); err != nil {
		return noSample, err
	}
	defer s.disown()
	if err := s.settled(ctx); err != nil {
		return noSample, err
	}
	asked := time.Now()
	m, err := fetch(ctx, s.call, s.measures)
	if err != nil {
		return noSample, fmt.Errorf("measure: %w", err)
	}
	took := time.Since(asked)
	volts, err := s.mapped(m, &s.at.MeasuredVoltage)
	if err != nil {
		return noSample, fmt.Errorf("measure volts: %w", err)
	}
	amperes, err := s.mapped(m, &s.at.MeasuredCurrent)
	if err != nil {
		return noSample, fmt.Errorf("measure amperes: %w", err)
	}
	return hal.Sample{Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes), Mode: s.at.Status.mode(m), At: asked.Add(took / 2), Took: took}, nil
}

var noSample = hal.Sample{Volts: unit.Volts(math.NaN()), Amperes: unit.Amperes(math.NaN())}

// Check reads setpoints, output and trips back. A supply that holds nothing of what was
// written to it, and is off although it was switched on, has restarted; that is told once.
func (s *Supply) Check(ctx context.Context) (hal.State, error) {
	nothing := hal.State{SetVolts: unit.Volts(nan), LimitAmperes: unit.Amperes(nan), Output: true}
	if err := s.own(); err != nil {
		return nothing, err
	}
	defer s.disown()
	if err := s.settled(ctx); err != nil {
		return nothing, fmt.Errorf("check the supply: %w", err)
	}
	m, err := fetch(ctx, s.call, s.holds)
	if err != nil {
		return nothing, fmt.Errorf("check the supply: %w", err)
	}
	volts, amperes := &s.at.SetpointVoltage, &s.at.SetpointCurrent
	state := hal.State{SetVolts: unit.Volts(tidy(volts.number(m.quantity(volts)) * volts.Scale)),
		LimitAmperes: unit.Amperes(tidy(amperes.number(m.quantity(amperes)) * amperes.Scale)),
		Output:       s.isOn(m), Tripped: s.at.Status.trip(m)}
	s.noteRestart(m, state)
	state.Restarted, s.restarted = s.restarted, false
	return state, nil
}

func (s *Supply) noteRestart(m memory, state hal.State) {
	if s.forgot(m) && s.energised && !state.Output && state.Tripped == "" {
		s.restarted, s.energised, s.volts, s.amperes = true, false, nil, nil
		s.voltsSet, s.amperesSet = false, false
	}
}

// forgot tells whether neither setpoint is what was written, or one of them is back at
// zero: a write of ours that met the restarted supply may have set the other one again.
func (s *Supply) forgot(m memory) bool {
	if s.volts == nil || s.amperes == nil {
		return false
	}
	volts, amperes := m.quantity(&s.at.SetpointVoltage), m.quantity(&s.at.SetpointCurrent)
	noVolts, noAmperes := !slices.Equal(s.volts, volts), !slices.Equal(s.amperes, amperes)
	return noVolts && noAmperes || noVolts && zero(volts) || noAmperes && zero(amperes)
}

func zero(registers []uint16) bool {
	return !slices.ContainsFunc(registers, func(r uint16) bool { return r != 0 })
}

// Identify returns who the supply said it was at opening, or that it cannot tell.
func (s *Supply) Identify(ctx context.Context) (hal.Identity, error) {
	if err := s.own(); err != nil {
		return hal.Identity{}, err
	}
	defer s.disown()
	if err := s.settled(ctx); err != nil {
		return hal.Identity{}, err
	}
	return s.askPatiently(ctx)
}
