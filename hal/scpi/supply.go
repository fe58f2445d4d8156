package scpi

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// Options say how to open a supply.
type Options struct {
	Transport      Transport
	Redial         Redial // nil where the transport cannot be made anew
	KeepOpen       bool   // redial only where the connection broke: opening a serial port anew moves its modem lines
	Dialect        Dialect
	HighestVolts   unit.Volts    // never asked for more; above 0
	HighestAmperes unit.Amperes  // never asked for more; above 0
	Expect         *hal.Identity // nil: whoever answers at opening is right
	Log            *slog.Logger  // nil: no log
	Nonce          func() int    // a random number; nil: a generator of its own
}

// Supply is a supply that speaks SCPI. It satisfies hal.Supply. One goroutine owns
// it: a second call while one is under way is refused at once.
type Supply struct {
	dialogue
	limits hal.Limits

	mayBeOn bool      // switching on was tried, and off was not confirmed since
	told    time.Time // when off was first said blind since the link became dirty; zero: not yet

	voltsSet, amperesSet   bool    // since the link last became clean
	heldVolts, heldAmperes float64 // what was held after the last setting of ours
	restarted              bool
	backlog                []InstrumentError // read off the queue while resynchronising

	answers answers
	fields  [][]byte
	reply   []byte

	askVolts, askAmperes, leanVolts, leanAmperes *question // of a setting while the output may be on
	measure, check, confirmVolts, confirmAmperes *question
	output, event, errors, state                 *question
	hasTrips                                     []item
	noLostHost                                   string // the query of the lost-host timer that it does not answer; "": it answers
}

var commands = struct{ on, off, noAmperes, noVolts []byte }{
	[]byte("OUTP ON"), []byte("OUTP OFF"), []byte("CURR 0"), []byte("VOLT 0"),
}

func newSupply(o Options) (*Supply, error) {
	dialect, err := o.Dialect.withDefaults()
	if err != nil {
		return nil, err
	}
	if o.Transport == nil {
		return nil, errors.New("open the supply: no transport was given")
	}
	if !(o.HighestVolts > 0) || !(o.HighestAmperes > 0) || math.IsInf(float64(o.HighestVolts+unit.Volts(o.HighestAmperes)), 0) {
		return nil, fmt.Errorf("highest voltage %v V and highest current %v A: both must be above 0", float64(o.HighestVolts), float64(o.HighestAmperes))
	}
	s := &Supply{dialogue: newDialogue("supply", dialect, o.Redial, o.KeepOpen, o.Log, o.Nonce)}
	s.forget = func() { s.voltsSet, s.amperesSet = false, false }
	s.leave = s.mayLeave
	s.number = s.newNumber
	if o.Expect != nil {
		s.identity, s.known = *o.Expect, true
	}
	s.link.attach(o.Transport)
	s.limits = hal.Limits{
		HighestVolts: o.HighestVolts, HighestAmperes: o.HighestAmperes,
		VoltStep: unit.Volts(step(dialect.DecimalsV)), AmpereStep: unit.Amperes(step(dialect.DecimalsA)),
		Settle: dialect.Settle, MainsReturn: dialect.MainsReturn,
	}
	return s, nil
}

func step(decimals int) float64 {
	return math.Pow10(-decimals)
}

// Limits returns what the supply and its link can do. It asks nothing.
func (s *Supply) Limits() hal.Limits { return s.limits }

// ready brings the link back into step where it is not.
func (s *Supply) ready(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("ask the supply: %w", err)
	}
	if s.clean {
		return nil
	}
	return s.resynchronise(ctx)
}
