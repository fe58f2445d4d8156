package virtual

import (
	"context"
	"fmt"
	"math"
	"time"

	"anodized/hal"
)

// The times of the chain (s).
const (
	oneShot  = 1.0
	pullsIn  = 0.020
	releases = 0.025
)

// chain is the contactor with its one-shot, and the emergency stop. Lid and stop cut
// its coil by wire.
type chain struct {
	pulse, dropped bool // the two lines
	until          float64
	closed         bool    // the power contacts
	moves          float64 // s of the bench, when they follow the coil
	welded, stuck  bool
	unread         bool // the lines cannot be reached
	stop           lid  // the contacts of the emergency stop; open is pressed
}

func newChain() chain { return chain{dropped: true, until: math.Inf(-1), moves: math.Inf(1)} }

// follow lets the power contacts follow the coil and returns when they move next.
func (c *chain) follow(b *Bench, now float64) float64 {
	if !b.setup.Chain {
		return math.Inf(1)
	}
	coil := now < c.until && !c.dropped && b.lid.open == 0 && c.stop.open == 0
	switch {
	case coil == c.closed:
		c.moves = math.Inf(1)
	case math.IsInf(c.moves, 1):
		c.moves = now + releases
		if coil {
			c.moves = now + pullsIn
		}
	}
	if c.moves <= now {
		c.move(b, coil)
	}
	if now < c.until {
		return math.Min(c.moves, c.until)
	}
	return c.moves
}

func (c *chain) move(b *Bench, coil bool) {
	c.moves = math.Inf(1)
	if coil && c.stuck || !coil && c.welded {
		return
	}
	c.closed = coil
	b.body.Part(!coil)
}

// contactor is the contactor as a device.
type contactor struct{ bench *Bench }

// Contactor is the contactor of the bench with its one-shot; nil where Setup.Chain is
// not set.
func (b *Bench) Contactor() hal.Contactor {
	if !b.setup.Chain {
		return nil
	}
	return contactor{b}
}

func (c contactor) lines(do func(chain *chain, now float64)) error {
	b := c.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.chain.unread {
		return fmt.Errorf("reaching the contactor: %w: check its chip", hal.ErrGone)
	}
	do(&b.chain, b.body.Seconds())
	b.settle(b.body.Seconds())
	return nil
}

// Beat toggles the pulse line; a rising edge starts the one-shot anew.
func (c contactor) Beat() error {
	return c.lines(func(chain *chain, now float64) {
		chain.dropped, chain.pulse = false, !chain.pulse
		if chain.pulse {
			chain.until = now + oneShot
		}
	})
}

// Halt clears the one-shot at once.
func (c contactor) Halt() error {
	return c.lines(func(chain *chain, now float64) {
		chain.dropped, chain.pulse, chain.until = true, false, math.Inf(-1)
	})
}

// Clears is true.
func (c contactor) Clears() bool { return true }

// Closed is what the mirror contact says.
func (c contactor) Closed(ctx context.Context) (closed bool, err error) {
	if err := ctx.Err(); err != nil {
		return true, fmt.Errorf("reading the mirror contact: %w", err)
	}
	err = c.lines(func(chain *chain, now float64) { closed = chain.closed })
	return closed || err != nil, err
}

// stop is the emergency stop as a device.
type stop struct{ bench *Bench }

// EmergencyStop is the emergency stop of the bench, two contacts; nil where Setup.Chain
// is not set.
func (b *Bench) EmergencyStop() hal.EmergencyStop {
	if !b.setup.Chain {
		return nil
	}
	return stop{b}
}

func (s stop) Contacts(ctx context.Context) (hal.Channels, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return hal.Channels{}, fmt.Errorf("reading the emergency stop: %w", err)
	}
	if b.chain.stop.gone {
		return hal.Channels{}, fmt.Errorf("reading the emergency stop: %w: check its cable", hal.ErrGone)
	}
	return hal.Channels{Closed: b.chain.stop.closed(), At: b.time()}, nil
}

// Changed tells that a channel of the lid switch moved.
func (i interlock) Changed() <-chan struct{} { return i.bench.lid.changed }

// tell tells of a movement since it was told last, and times what was open.
func (l *lid) tell(at float64) {
	now := l.closed()
	if now == l.told {
		return
	}
	for i := range now {
		switch {
		case now[i] == l.told[i]:
		case now[i]:
			l.opened[i] = time.Duration(math.Round((at - l.from[i]) * 1e9))
		default:
			l.from[i], l.opened[i] = at, 0
		}
	}
	l.told = now
	select {
	case l.changed <- struct{}{}:
	default: // one that was not taken yet stands for this one too
	}
}

// chainKinds are what can be wrong with the contactor and the emergency stop.
var chainKinds = []kind{
	{id: "emergency-stop", what: "somebody presses the emergency stop, and releases it", lasts: 2 * time.Second,
		begin: func(b *Bench, _ *armed) { b.chain.stop.open++ }, end: func(b *Bench, _ *armed) { b.chain.stop.open-- }},
	{id: "emergency-stop-gone", what: "the contacts of the emergency stop cannot be read", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.chain.stop.gone = true },
		end:   func(b *Bench, _ *armed) { b.chain.stop.gone = false }},
	{id: "emergency-stop-one-contact", what: "one contact of the emergency stop opens alone", part: 1, lasts: ever,
		begin: func(b *Bench, f *armed) { b.chain.stop.force(f.Part, false) },
		end:   func(b *Bench, f *armed) { b.chain.stop.free(f.Part) }},
	{id: "emergency-stop-stuck-closed", what: "a contact of the emergency stop says closed whatever is pressed", part: 1, lasts: ever,
		begin: func(b *Bench, f *armed) { b.chain.stop.force(f.Part, true) },
		end:   func(b *Bench, f *armed) { b.chain.stop.free(f.Part) }},
	{id: "contactor-welded", what: "the contacts of the contactor do not open any more", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.chain.welded = true },
		end:   func(b *Bench, _ *armed) { b.chain.welded = false }},
	{id: "contactor-stuck-open", what: "the contactor does not close", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.chain.stuck = true },
		end:   func(b *Bench, _ *armed) { b.chain.stuck = false }},
	{id: "contactor-gone", what: "the lines of the contactor cannot be reached", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.chain.unread = true },
		end:   func(b *Bench, _ *armed) { b.chain.unread = false }},
}
