package gpio

import (
	"context"
	"fmt"
	"sync"

	"anodized/hal"
)

// The bits of a contactor's request.
const (
	pulseBit uint64 = 1 << iota
	dropBit
	mirrorBit
)

// Contactor is a contactor behind a retriggerable one-shot. Its pulse line is toggled
// once a Beat, its drop line clears the one-shot at once, and its mirror contact,
// which is closed while the power contacts are open, is an input.
type Contactor struct {
	lines Lines

	mu       sync.Mutex
	high     bool // the pulse line
	dropping bool // the drop line is known to hold the one-shot cleared
}

// ContactorWiring is how the lines of a contactor are wired.
type ContactorWiring struct {
	Pulse, Drop, Mirror string // labels or numbers
	DropHigh            bool   // a high level clears the one-shot; else a low one, which a dead board gives too
	Contact             Wiring // of the mirror contact
}

// ContactorRequest asks for the three lines with the pulse line low and the one-shot
// held cleared from the first moment on.
func ContactorRequest(w ContactorWiring) Request {
	return Request{Consumer: "anodized contactor", Lines: []Line{
		{Name: w.Pulse, Output: true},
		{Name: w.Drop, Output: true, ActiveLow: !w.DropHigh, First: true},
		w.Contact.input(w.Mirror, false),
	}}
}

// NewContactor returns the contactor on the lines of a [ContactorRequest].
func NewContactor(lines Lines) *Contactor { return &Contactor{lines: lines, dropping: true} }

// Beat gives the one-shot one edge. The first after a Halt takes the drop back before
// it, and rises.
func (c *Contactor) Beat() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.dropping {
		c.dropping = false // whatever comes of it, it is not known to hold any more
		if err := c.lines.Set(dropBit, 0); err != nil {
			return fmt.Errorf("take the drop of the contactor back: %w", err)
		}
	}
	if err := c.lines.Set(pulseBit, bit(!c.high, pulseBit)); err != nil {
		return fmt.Errorf("pulse the contactor: %w", err)
	}
	c.high = !c.high
	return nil
}

// Halt clears the one-shot and puts the pulse line low, in one call.
func (c *Contactor) Halt() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := c.lines.Set(pulseBit|dropBit, dropBit); err != nil {
		return fmt.Errorf("drop the contactor: %w", err)
	}
	c.high, c.dropping = false, true
	return nil
}

// Clears is true: the drop line ends the one-shot at once.
func (c *Contactor) Clears() bool { return true }

// Closed tells whether the mirror contact does not say that the contactor is open. A
// broken wire reads as closed, so it never proves a dead cell.
func (c *Contactor) Closed(ctx context.Context) (bool, error) {
	if err := ctx.Err(); err != nil {
		return true, fmt.Errorf("read the mirror contact: %w", err)
	}
	bits, err := c.lines.Values()
	if err != nil {
		return true, fmt.Errorf("read the mirror contact: %w", err)
	}
	return bits&mirrorBit == 0, nil
}

func bit(set bool, mask uint64) uint64 {
	if set {
		return mask
	}
	return 0
}

var _ hal.Contactor = (*Contactor)(nil)
