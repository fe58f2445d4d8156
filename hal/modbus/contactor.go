package modbus

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"anodized/hal"
)

// ContactorOptions say which coils of a module close a contactor.
type ContactorOptions struct {
	Line     *Line
	Unit     int           // 1 to 247; 0 and 255 over TCP as well
	Timeout  time.Duration // of one answer; 0: DefaultTimeout
	Loopback bool          // function 08 echoes a number
	Pulse    int           // coil that feeds the one-shot, or, with Watchdog, the contactor itself
	Drop     int           // coil that must be 1 for the one-shot to run, 0 clears it at once; -1: there is none
	Feedback int           // discrete input of the mirror contact: 1 while the power contacts are open
	Watchdog bool          // the module puts its coils out by itself when nobody writes
}

// Contactor is a contactor on the coils of a remote module. It satisfies hal.Contactor.
//
// A coil keeps its level when the computer dies, unless the module watches its host. So
// either a retriggerable one-shot stands behind the pulse coil and each Beat turns that
// coil over, or the module's own watchdog holds it and each Beat writes it again. A coil
// that is wired to the contactor without either of them is not held: it is stuck.
//
// The answer to a write proves that the module took it, and no more. What became of it
// the mirror contact tells.
type Contactor struct {
	ask, off *device // off goes before every other exchange on the line
	o        ContactorOptions

	mu       sync.Mutex // of what the coils are told
	high     bool       // the pulse coil
	dropping bool       // the one-shot is known to be held cleared
}

// NewContactor returns a contactor. Halt must be called before anything else is done
// with the bench: what the coils hold from before is not known.
func NewContactor(o ContactorOptions) (*Contactor, error) {
	ask, err := newDevice("contactor", o.Line, o.Unit, o.Timeout, o.Loopback)
	if err != nil {
		return nil, err
	}
	for name, address := range map[string]int{"pulse coil": o.Pulse, "drop coil": o.Drop, "feedback input": o.Feedback} {
		if address > 65535 || address < 0 && (name != "drop coil" || address < -1) {
			return nil, fmt.Errorf("contactor: %s %d: addresses from 0 to 65535 are allowed", name, address)
		}
	}
	if o.Pulse == o.Drop {
		return nil, fmt.Errorf("contactor: coil %d: pulse and drop need a coil each", o.Pulse)
	}
	off := *ask
	off.hurry = true
	return &Contactor{ask: ask, off: &off, o: o, dropping: true}, nil
}

// coil sets one.
func coil(address int, on bool) []byte {
	if on {
		return reading(writeCoil, address, coilOn)
	}
	return reading(writeCoil, address, 0)
}

// Beat gives the one-shot one edge, or the watchdog one word. The first after a Halt
// takes the drop back before it, and rises.
func (c *Contactor) Beat() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	ctx, cancel := context.WithTimeout(context.Background(), c.longest())
	defer cancel()
	if c.dropping && c.o.Drop >= 0 {
		c.dropping = false // whatever comes of it, it is not known to hold any more
		if _, err := c.ask.exchange(ctx, coil(c.o.Drop, true)); err != nil {
			return fmt.Errorf("take the drop of the contactor back: %w", err)
		}
	}
	next := !c.high || c.o.Watchdog
	if _, err := c.ask.exchange(ctx, coil(c.o.Pulse, next)); err != nil {
		return fmt.Errorf("pulse the contactor: %w", err)
	}
	c.high = next
	return nil
}

// Halt puts the coils out, the drop coil first, and goes before every other exchange on
// the line. It is nil only where the module took both. Without a drop coil a one-shot
// lets go when its time is over.
func (c *Contactor) Halt() error {
	ctx, cancel := context.WithTimeout(context.Background(), 2*c.longest())
	defer cancel()
	done := c.off.line.hurry() // a Beat that is under way gives way
	c.mu.Lock()
	defer c.mu.Unlock()
	done()
	c.dropping = false
	coils := []int{c.o.Drop, c.o.Pulse}
	if c.o.Drop < 0 {
		coils = coils[1:]
	}
	var errs []error
	for _, address := range coils {
		if err := c.out(ctx, coil(address, false)); err != nil {
			errs = append(errs, fmt.Errorf("drop the contactor: coil %d: %w", address, err)) // the other may still take it
			if errors.Is(err, hal.ErrGone) {
				break // nobody is there
			}
		}
	}
	c.high, c.dropping = false, len(errs) == 0
	return errors.Join(errs...)
}

// Clears tells whether a Halt opens the contactor at once: there is a drop coil, or the
// coil is held by the module alone.
func (c *Contactor) Clears() bool { return c.o.Drop >= 0 || c.o.Watchdog }

// out writes at once where the line is in doubt or another device is being switched off on
// it, without waiting for anything, and then until the module has confirmed it.
func (c *Contactor) out(ctx context.Context, request []byte) error {
	doubted, err := c.off.line.switching(), error(nil)
	if !doubted {
		doubted, err = c.off.doubted(ctx)
	}
	if err == nil && doubted {
		err = c.off.tell(ctx, request) // the exchange below makes a new connection where this broke
	}
	if err != nil {
		c.off.line.log.Debug("the contactor's first drop did not go out", "err", err)
	}
	for tries := 0; tries < 2; {
		cuts := c.off.line.cuts.Load()
		if _, err = c.off.exchange(ctx, request); err == nil {
			return nil
		}
		if !c.off.line.cutSince(cuts, err) {
			tries++
		}
	}
	return err
}

// longest is what one exchange may take on a line whose step must be found first.
func (c *Contactor) longest() time.Duration {
	return c.ask.wait(doubt{outstanding: true}) + 3*c.ask.timeout + resyncSlack
}

// Closed tells whether the mirror contact does not say that the contactor is open.
func (c *Contactor) Closed(ctx context.Context) (bool, error) {
	if err := ctx.Err(); err != nil {
		return true, fmt.Errorf("read the mirror contact: %w", err)
	}
	answer, err := c.ask.exchange(ctx, reading(readDiscreteInputs, c.o.Feedback, 1))
	if err != nil {
		return true, fmt.Errorf("read the mirror contact: %w", err)
	}
	return !bit(answer[2:], 0), nil
}

var _ hal.Contactor = (*Contactor)(nil)
