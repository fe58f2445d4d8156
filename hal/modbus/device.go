package modbus

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"anodized/hal"
)

const (
	// quiet is how long a line must be silent to count as drained.
	quiet = 50 * time.Millisecond
	// tries is how many new numbers are tried before a line is given up.
	tries = 3
	// resyncSlack is what bringing a line back into step may take besides the waiting
	// for silence and for the answers to two questions.
	resyncSlack = 200 * time.Millisecond
)

// device is one unit on a line, and how its answers are told from each other.
type device struct {
	line     *Line
	unit     byte
	timeout  time.Duration
	loopback bool          // it answers function 08, which echoes a number
	unusual  []byte        // a question of a kind that is never asked else; nil: there is none
	nonce    func() uint16 // a random number
	made     uint64        // the connection that it was last found on
	hurry    bool          // a halt is under way: it goes before others on the line
	keep     bool          // an unanswered question is no reason to give up a connection: its "off" was not said yet
	proven   uint64        // the connection on which it said who it is; 0: it never does
}

func (d *device) take(ctx context.Context) error {
	if d.hurry {
		return d.line.takeNow(ctx)
	}
	return d.line.take(ctx)
}

func (d *device) number() uint16 {
	if d.nonce != nil {
		return d.nonce()
	}
	return uint16(rand.Uint32())
}

// exchange asks once the line is in step, and marks the unit where an error leaves
// doubt about the next answer.
func (d *device) exchange(ctx context.Context, request []byte) ([]byte, error) {
	if err := d.take(ctx); err != nil {
		return nil, err
	}
	defer d.line.give()
	if err := d.regain(ctx); err != nil {
		return nil, cutOff(ctx, err)
	}
	return d.ask(ctx, request)
}

// ready brings line and unit into step.
func (d *device) ready(ctx context.Context) error {
	if err := d.take(ctx); err != nil {
		return err
	}
	defer d.line.give()
	if err := d.regain(ctx); err != nil {
		return cutOff(ctx, err)
	}
	d.made = d.line.made
	return nil
}

// steady asks only on the connection that ready found, in step. Where it finds anything
// else, nothing is sent.
func (d *device) steady(ctx context.Context, request []byte) ([]byte, error) {
	if err := d.take(ctx); err != nil {
		return nil, err
	}
	defer d.line.give()
	if d.line.transport == nil || d.line.stale || d.made != d.line.made {
		return nil, fmt.Errorf("%w: another device's exchange found that the connection broke", hal.ErrGone)
	}
	if _, doubted := d.line.doubts[d.unit]; doubted {
		return nil, fmt.Errorf("%w: an exchange with this unit went wrong", hal.ErrDesync)
	}
	return d.ask(ctx, request)
}

func (d *device) ask(ctx context.Context, request []byte) ([]byte, error) {
	stray, err := d.line.unasked()
	if err == nil && stray {
		err = fmt.Errorf("%w: bytes came unasked", errStray)
	}
	var answer []byte
	if err == nil {
		answer, err = d.line.converse(ctx, d.unit, request, d.timeout)
	}
	d.judge(err)
	return slices.Clone(answer), cutOff(ctx, err) // the line's buffer is the next one's
}

func cutOff(ctx context.Context, err error) error {
	if err != nil && ctx.Err() != nil {
		return fmt.Errorf("cut off: %w: %w", ctx.Err(), err)
	}
	return err
}

// judge notes what an error means for the next answer.
func (d *device) judge(err error) {
	var exception Exception
	if err == nil || errors.As(err, &exception) {
		return
	}
	l := d.line
	l.log.Debug("doubt on a Modbus line", "unit", d.unit, "err", err)
	l.doubts[d.unit] = doubt{since: time.Now(), outstanding: !errors.Is(err, errStray)}
	numbered := d.keep && errors.Is(err, hal.ErrTimeout) // a late answer carries the number of its question
	l.stale = l.stale || l.framing == TCP && !numbered || errors.Is(err, hal.ErrGone)
}

// regain makes the next answer one that can be believed. A new TCP connection is
// enough, since late answers die with the old one. A serial line has no numbers and
// cannot be made anew: it is drained, then asked what only a new question can answer.
func (d *device) regain(ctx context.Context) error {
	l := d.line
	if err := l.connect(ctx, d.timeout); err != nil {
		return err
	}
	found, doubted := l.doubts[d.unit]
	if doubted && l.framing == RTU {
		if err := d.findStep(ctx, found); err != nil {
			return fmt.Errorf("bring the line back into step: %w", err)
		}
	}
	delete(l.doubts, d.unit)
	return nil
}

// wait is how long a late answer may still come.
func (d *device) wait(found doubt) time.Duration {
	switch {
	case !d.loopback && d.unusual == nil:
		return 2 * d.timeout // no question has a new answer: only time tells
	case found.outstanding:
		return d.timeout
	}
	return quiet
}

func (d *device) findStep(ctx context.Context, found doubt) error {
	wait := d.wait(found)
	limited, cancel := context.WithTimeout(ctx, wait+2*d.timeout+resyncSlack)
	defer cancel()
	if err := d.line.drain(limited, found.since.Add(wait)); err != nil {
		return d.lost(err)
	}
	if !d.loopback && d.unusual == nil {
		return nil
	}
	var err error
	for range tries {
		_, err = d.line.converse(limited, d.unit, d.probe(), d.timeout)
		var exception Exception
		if err == nil || errors.As(err, &exception) {
			return nil // an exception names the function, so it answers this question
		}
		if errors.Is(err, hal.ErrGone) || errors.Is(err, hal.ErrTimeout) {
			break
		}
		if err := d.line.drain(limited, time.Now()); err != nil {
			return d.lost(err)
		}
	}
	return d.lost(err)
}

// lost marks a unit whose step was not found.
func (d *device) lost(err error) error {
	d.line.doubts[d.unit] = doubt{since: time.Now(), outstanding: true}
	if errors.Is(err, hal.ErrGone) {
		d.line.stale = true
		return err
	}
	if errors.Is(err, hal.ErrTimeout) {
		return err
	}
	return fmt.Errorf("%w: %s", hal.ErrDesync, err.Error())
}

// probe is a question whose answer is new: a random number that comes back, or at
// least one of another length than every other answer.
func (d *device) probe() []byte {
	if !d.loopback {
		return d.unusual
	}
	return binary.BigEndian.AppendUint16([]byte{diagnostics, 0, 0}, d.number())
}

// drain throws away what comes until a moment, and then until the line is silent.
func (l *Line) drain(ctx context.Context, until time.Time) error {
	defer l.disarm()
	for heard := true; heard || time.Now().Before(until); {
		if ctx.Err() != nil {
			return fmt.Errorf("%w: the line does not fall silent", errFrame)
		}
		if err := l.arm(ctx, quiet); err != nil {
			return err
		}
		n, err := l.transport.Read(l.in[:])
		l.disarm()
		heard = n > 0
		if heard {
			l.used = time.Now()
			continue
		}
		if err != nil {
			if err := transportError("drain the line", err); !errors.Is(err, hal.ErrTimeout) {
				return err
			}
		}
	}
	l.end = 0
	return nil
}

// doubted tells whether the next answer of the unit could not be believed.
func (d *device) doubted(ctx context.Context) (bool, error) {
	if err := d.take(ctx); err != nil {
		return true, err
	}
	defer d.line.give()
	_, found := d.line.doubts[d.unit]
	return found || d.line.transport == nil || d.line.stale, nil
}

// tell sends a request and waits for no answer: it may be sent on a line in any doubt,
// before anything else. The answer that will come leaves the unit in doubt. A device that
// can say who it is hears nothing on a connection where it has not.
func (d *device) tell(ctx context.Context, request []byte) error {
	l := d.line
	if err := l.takeNow(ctx); err != nil {
		return err
	}
	defer l.give()
	if d.proven != 0 && (l.transport == nil || l.made != d.proven) {
		return fmt.Errorf("%w: on this connection nobody has said who it is", hal.ErrGone)
	}
	if l.transport == nil {
		if err := l.connect(ctx, d.timeout); err != nil {
			return err
		}
	}
	defer l.disarm()
	err := l.arm(ctx, quiet)
	if err == nil {
		err = l.send(d.unit, request)
	}
	l.doubts[d.unit] = doubt{since: time.Now(), outstanding: true}
	l.stale = l.stale || l.framing == TCP || errors.Is(err, hal.ErrGone)
	return err
}
