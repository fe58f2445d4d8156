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
	line      *Line
	unit      byte
	timeout   time.Duration
	loopback  bool          // it answers function 08, which echoes a number
	unusual   []byte        // a question of a kind that is never asked else; nil: there is none
	nonce     func() uint16 // a random number
	switching question      // what gets all of the time-out; zero: nothing
	took      map[question]answerTime
	made      uint64    // the connection that it was last found on
	hurry     bool      // a halt is under way: it goes before others on the line
	missed    uint      // questions in a row that had no answer
	asked     time.Time // when the last of them was asked
	proven    uint64    // the connection on which it said who it is; 0: it never does
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
	answer, err := d.ask(ctx, request)
	if !errors.Is(err, errUnasked) || d.line.framing == TCP {
		return answer, err
	}
	if err := d.regain(ctx); err != nil { // nothing was sent yet
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
		err = errUnasked
	}
	var answer []byte
	if err == nil {
		answer, err = d.converse(ctx, request, false)
	}
	d.judge(err)
	return slices.Clone(answer), cutOff(ctx, err) // the line's buffer is the next one's
}

// converse has a request answered within the time that such questions take.
func (d *device) converse(ctx context.Context, request []byte, dropping bool) ([]byte, error) {
	began := time.Now()
	d.asked = began
	answer, err := d.line.converse(ctx, exchange{d.unit, request, d.answerTime(request), d.timeout, dropping})
	var exception Exception
	switch {
	case err == nil || errors.As(err, &exception):
		d.learn(request, time.Since(began), true)
		d.count(nil)
	case errors.Is(err, hal.ErrTimeout) && ctx.Err() == nil && d.line.urgent.Load() == 0:
		d.learn(request, 0, false)
		d.count(err)
	}
	return answer, err
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
	l.stale = l.stale || l.framing == TCP && !l.holds() || errors.Is(err, hal.ErrGone)
}

// regain makes the next answer one that can be believed. A new TCP connection is
// enough, since late answers die with the old one. Where that one is kept it is drained:
// behind a silence begins a frame, and late ones carry the numbers of their questions. A
// serial line has no numbers and cannot be made anew: it is drained, then asked what only
// a new question can answer.
func (d *device) regain(ctx context.Context) error {
	l := d.line
	if err := l.connect(ctx, d.timeout); err != nil {
		return err
	}
	if err := d.alone(); err != nil {
		return err
	}
	if found, doubted := l.doubts[d.unit]; doubted {
		find := map[Framing]func(context.Context, doubt) error{RTU: d.findStep, TCP: d.findFrame}[l.framing]
		if err := find(ctx, found); err != nil {
			return fmt.Errorf("bring the line back into step: %w", err)
		}
	}
	delete(l.doubts, d.unit)
	return nil
}

// findFrame waits for a silence on a connection whose answers carry numbers.
func (d *device) findFrame(ctx context.Context, found doubt) error {
	limited, cancel := context.WithTimeout(ctx, d.timeout+resyncSlack)
	defer cancel()
	if err := d.line.drain(limited, found.since); err != nil {
		return d.lost(err)
	}
	return nil
}

// wait is how long a line is left alone for an answer that may still come. A device
// answers one question after the other, so that whatever comes before the answer to a
// new question is thrown away; the wait only keeps the two from meeting on the wire.
func (d *device) wait(found doubt) time.Duration {
	switch {
	case !d.loopback && d.unusual == nil:
		return 2 * d.timeout // no question has a new answer: only time tells
	case found.outstanding:
		return quiet
	}
	return 0
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
		if err = d.tryProbe(limited); err == nil || errors.Is(err, hal.ErrGone) || limited.Err() != nil || d.alone() != nil {
			break
		}
		if err := d.line.drain(limited, time.Now()); err != nil {
			return d.lost(err)
		}
	}
	if err == nil && !d.loopback { // the answer may be to an earlier try: that to the last one is behind it
		err = d.line.drain(limited, time.Now().Add(quiet))
	}
	if err != nil {
		return d.lost(err)
	}
	return nil
}

// tryProbe asks what only a new question can answer, and drops whole answers to earlier
// questions. An exception names the function, so it answers this question.
func (d *device) tryProbe(ctx context.Context) error {
	request := d.probe()
	d.line.doubts[d.unit] = doubt{since: time.Now(), outstanding: true}
	_, err := d.converse(ctx, request, true)
	if exception := Exception(0); errors.As(err, &exception) {
		return nil
	}
	return err
}

// lost is a unit whose step was not found: its doubt stays.
func (d *device) lost(err error) error {
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

// drain throws away what comes until a moment, and then until the line is silent. A
// silence that has lasted long enough counts.
func (l *Line) drain(ctx context.Context, until time.Time) error {
	if time.Now().After(until) && l.silent() {
		l.end = 0
		return nil
	}
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

// silent tells whether nothing has come for long enough.
func (l *Line) silent() bool {
	pender, can := l.transport.(Pender)
	if !can || time.Since(l.used) < quiet {
		return false
	}
	there, err := pender.Pending()
	return err == nil && !there // a broken line is found by who reads it
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
	if err := l.press(ctx); err != nil {
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
	l.stale = l.stale || l.framing == TCP && !l.holds() || errors.Is(err, hal.ErrGone)
	return err
}
