package scpi

import (
	"errors"
	"log/slog"
	"math/rand/v2"
	"sync/atomic"

	"anodized/hal"
)

// dialogue is the talk with one instrument, of whatever kind: lines that go out and come
// back, who answers, and how the step is found again where it was lost.
type dialogue struct {
	name     string // of the instrument, for messages
	link     link
	dialect  Dialect
	redial   Redial
	keepOpen bool
	log      *slog.Logger
	nonce    func() int
	identity hal.Identity
	known    bool // identity holds who we opened
	forget   func()
	leave    func() bool // before a connection that did not break is given up: whether it may be; nil: it may

	busy     atomic.Bool
	clean    bool // answers may be believed
	gone     bool // the connection broke since the link was last clean
	stranger bool // another instrument answered: nothing more is said to it
	unproven bool // on this connection nobody has said yet who it is: it is asked that and nothing else

	number    func() int // a new number for findStep
	lastNonce [4]int
	pending   pending // the number that was asked for last
	line      []byte
}

var errBusy = errors.New("a second call while one is under way: one goroutine owns an instrument")

func newDialogue(name string, dialect Dialect, redial Redial, keepOpen bool, log *slog.Logger, nonce func() int) dialogue {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	if nonce == nil {
		nonce = func() int { return rand.IntN(1 << 16) }
	}
	return dialogue{name: name, dialect: dialect, redial: redial, keepOpen: keepOpen, log: log, nonce: nonce,
		link: link{sendEnd: dialect.sendEnd(), replyEnd: dialect.ReplyEnd, echo: dialect.Echo, gap: dialect.Gap}}
}

// own takes the instrument for one call.
func (s *dialogue) own() error {
	if !s.busy.CompareAndSwap(false, true) {
		return errBusy
	}
	return nil
}

func (s *dialogue) disown() { s.busy.Store(false) }

// soil marks the link dirty: nothing is believed, and whoever holds a state that rested on it forgets it.
func (s *dialogue) soil(err error) {
	if s.clean {
		s.log.Warn("the "+s.name+"'s link is out of step", "err", err)
	}
	s.clean = false
	if s.forget != nil {
		s.forget()
	}
	if errors.Is(err, hal.ErrGone) {
		s.gone = true
	}
}
