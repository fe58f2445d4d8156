package scpi

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"math/rand/v2"
	"sync/atomic"

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
	link     link
	dialect  Dialect
	limits   hal.Limits
	redial   Redial
	keepOpen bool
	log      *slog.Logger
	nonce    func() int
	identity hal.Identity
	known    bool // identity holds who we opened

	busy     atomic.Bool
	clean    bool // answers may be believed
	gone     bool // the connection broke since the link was last clean
	stranger bool // another instrument answered: nothing more is said to it

	voltsSet, amperesSet bool // since the link last became clean
	restarted            bool
	backlog              []InstrumentError // read off the queue while resynchronising
	number               func() int        // a new number for findStep
	lastNonce            [4]int

	answers answers
	fields  [][]byte
	reply   []byte
	line    []byte

	measure, check, confirmVolts, confirmAmperes *question
	output, event, errors, state                 *question
	hasTrips                                     []item
}

var (
	errBusy  = errors.New("a second call while one is under way: one goroutine owns a supply")
	commands = struct{ on, off []byte }{[]byte("OUTP ON"), []byte("OUTP OFF")}
)

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
	s := &Supply{dialect: dialect, redial: o.Redial, keepOpen: o.KeepOpen, log: o.Log, nonce: o.Nonce}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.nonce == nil {
		s.nonce = func() int { return rand.IntN(1 << 16) }
	}
	if o.Expect != nil {
		s.identity, s.known = *o.Expect, true
	}
	s.number = s.newNumber
	s.link = link{sendEnd: dialect.sendEnd(), replyEnd: dialect.ReplyEnd, echo: dialect.Echo, gap: dialect.Gap}
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

// own takes the supply for one call.
func (s *Supply) own() error {
	if !s.busy.CompareAndSwap(false, true) {
		return errBusy
	}
	return nil
}

func (s *Supply) disown() { s.busy.Store(false) }

// soil marks the link dirty: nothing is believed, and no setpoint is known to hold.
func (s *Supply) soil(err error) {
	if s.clean {
		s.log.Warn("the supply's link is out of step", "err", err)
	}
	s.clean, s.voltsSet, s.amperesSet = false, false, false
	if errors.Is(err, hal.ErrGone) {
		s.gone = true
	}
}

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
