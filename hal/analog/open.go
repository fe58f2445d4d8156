package analog

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"sync/atomic"
	"time"

	"anodized/hal"
	"anodized/hal/analog/chip"
	"anodized/hal/unit"
)

// Enable is the contact that lets the supply deliver. Neither call waits.
type Enable interface {
	// Set closes or opens the contact.
	Set(closed bool) error
	// Closed asks the line for its level, and never remembers.
	Closed() (bool, error)
}

// Options say what a supply is composed of.
type Options struct {
	Enable         Enable
	Volts          Program
	Amperes        *Program     // nil: the limit is fixed at the panel
	FixedAmperes   unit.Amperes // then; above 0
	VoltMonitor    Monitor
	AmpereMonitor  Monitor
	HighestVolts   unit.Volts
	HighestAmperes unit.Amperes
	Settle         time.Duration
	MainsReturn    string
	Log            *slog.Logger // nil: no log
}

// Supply is a supply behind converters. It satisfies hal.Supply. One goroutine owns
// it: a second call while one is under way is refused at once.
type Supply struct {
	o       Options
	limits  hal.Limits
	volts   *input
	amperes *input // nil: fixed
	busy    atomic.Bool

	fixedSet  bool // the fixed limit was asked for, and is not above what was
	restarted bool
	tripped   string
}

// Open takes over a supply: it opens the contact, makes every program input zero,
// checks what the converters do at power-up, and reads each monitor once.
func Open(ctx context.Context, o Options) (*Supply, error) {
	if err := o.check(); err != nil {
		return nil, fmt.Errorf("open the supply: %w", err)
	}
	s := newSupply(o)
	for _, step := range []func(context.Context) error{s.openContact, s.startPrograms, s.startMonitors} {
		if err := step(ctx); err != nil {
			return nil, fmt.Errorf("open the supply: %w", errors.Join(err, s.o.Enable.Set(false)))
		}
	}
	s.o.Log.Info("supply open", "voltage", o.Volts.Output.String(), "volt monitor", o.VoltMonitor.Input.String(), "ampere monitor", o.AmpereMonitor.Input.String())
	return s, nil
}

func (o *Options) check() error {
	if o.Enable == nil {
		return errors.New("no enable contact was given: a converter at zero is not off")
	}
	if !(o.HighestVolts > 0) || !(o.HighestAmperes > 0) || math.IsInf(float64(o.HighestVolts)+float64(o.HighestAmperes), 0) {
		return fmt.Errorf("highest voltage %v V and highest current %v A: both must be above 0", float64(o.HighestVolts), float64(o.HighestAmperes))
	}
	err := errors.Join(
		o.Volts.check("voltage program", float64(o.HighestVolts)),
		o.VoltMonitor.check("voltage monitor"), o.AmpereMonitor.check("current monitor"))
	switch {
	case o.Amperes != nil:
		err = errors.Join(err, o.Amperes.check("current program", float64(o.HighestAmperes)))
	case !(o.FixedAmperes > 0 && o.FixedAmperes <= o.HighestAmperes):
		err = errors.Join(err, fmt.Errorf("fixed current limit %v A: above 0 and at most %v A are allowed", float64(o.FixedAmperes), float64(o.HighestAmperes)))
	}
	return err
}

// fixedStep is the step that a fixed limit reports, of the monitor's full scale: a
// knob has none, and those who ask take it for how finely the current is known.
const fixedStep = 1e-3

func newSupply(o Options) *Supply {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &Supply{o: o, volts: &input{Program: o.Volts}}
	highest, ampereStep := o.FixedAmperes, unit.Amperes(o.AmpereMonitor.Scale.Means*fixedStep)
	if o.Amperes != nil {
		s.amperes = &input{Program: *o.Amperes}
		highest, ampereStep = o.HighestAmperes, unit.Amperes(o.Amperes.step())
	}
	s.limits = hal.Limits{
		HighestVolts: o.HighestVolts, HighestAmperes: highest,
		VoltStep: unit.Volts(o.Volts.step()), AmpereStep: ampereStep,
		Settle: o.Settle, Exchange: Longest, MainsReturn: o.MainsReturn,
	}
	return s
}

// Limits returns what the supply and its converters can do. It asks nothing.
func (s *Supply) Limits() hal.Limits { return s.limits }

// inputs are the program inputs that there are.
func (s *Supply) inputs() []*input {
	if s.amperes == nil {
		return []*input{s.volts}
	}
	return []*input{s.volts, s.amperes}
}

// openContact opens the enable contact before anything is asked.
func (s *Supply) openContact(context.Context) error {
	if err := s.o.Enable.Set(false); err != nil {
		return contactError("open", err)
	}
	return s.contactIsOpen()
}

func (s *Supply) contactIsOpen() error {
	closed, err := s.o.Enable.Closed()
	switch {
	case err != nil:
		return contactError("ask", err)
	case closed:
		return fmt.Errorf("%w: the enable contact does not open; press the emergency stop", hal.ErrMismatch)
	}
	return nil
}

func (s *Supply) startPrograms(ctx context.Context) error {
	for _, in := range s.inputs() {
		_, err := ask(ctx, in.Lane, func(ctx context.Context) (struct{}, error) { return struct{}{}, in.Output.Start(ctx) })
		if err != nil {
			return fmt.Errorf("program input: %w", err)
		}
		if _, err := ask(ctx, in.Lane, func(context.Context) (int, error) { return in.Output.Read() }); errors.Is(err, chip.ErrWriteOnly) {
			s.o.Log.Warn("the setpoint cannot be read back: only the monitors show what the supply was told", "converter", in.Output.String())
		}
	}
	return nil
}

func (s *Supply) startMonitors(ctx context.Context) error {
	for _, m := range []Monitor{s.o.VoltMonitor, s.o.AmpereMonitor} {
		_, err := ask(ctx, m.Lane, func(ctx context.Context) (struct{}, error) { return struct{}{}, m.Input.Start(ctx) })
		if err != nil {
			return fmt.Errorf("monitor: %w", err)
		}
	}
	return nil
}

// Identify names the converters: such a supply has no name of its own to give.
func (s *Supply) Identify(context.Context) (hal.Identity, error) {
	model := fmt.Sprintf("%s, %s, %s", s.o.Volts.Output, s.o.VoltMonitor.Input, s.o.AmpereMonitor.Input)
	return hal.Identity{Maker: "analogue", Model: model}, nil
}

var errBusy = errors.New("a second call while one is under way: one goroutine owns a supply")

func (s *Supply) own() error {
	if !s.busy.CompareAndSwap(false, true) {
		return errBusy
	}
	return nil
}

func (s *Supply) disown() { s.busy.Store(false) }
