package modbus

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"anodized/hal"
)

// Transport carries bytes to a device and back. The driver cannot close it.
type Transport interface {
	io.ReadWriter
	SetDeadline(t time.Time) error
}

// Pender is a transport that can tell, without waiting, whether bytes have arrived
// that were not read.
type Pender interface {
	Pending() (bool, error)
}

// Dial drops the connection there was and makes a new one, which the one who gave
// the function owns.
type Dial func(ctx context.Context) (Transport, error)

// LineOptions say how a line is reached.
type LineOptions struct {
	Dial    Dial
	Framing Framing
	Gap     time.Duration // least silence between frames
	Log     *slog.Logger  // nil: no log
}

// Line is one connection, on which there may be several devices with a unit number
// each. Exchanges of several goroutines wait for each other; one that switches an
// output off goes first, and cuts short what another one waits for.
type Line struct {
	dial    Dial
	framing Framing
	gap     time.Duration
	log     *slog.Logger

	turn    chan struct{} // holds a token while nobody has the line
	urgent  atomic.Int32  // how many want it for a halt
	pressed atomic.Int32  // how many of them wait for no other halt any more
	cuts    atomic.Uint64 // how often a halt was cut short by another

	mu        sync.Mutex         // of these, for a halt that interrupts
	halting   bool               // who has the line switches something off
	transport Transport          // nil: not connected
	kept      map[byte]time.Time // units that keep the connection, and until when; zero: until their off is said

	made        uint64 // how many connections were made
	stale       bool   // answers on this connection are in doubt: make another
	doubts      map[byte]doubt
	transaction uint16
	used        time.Time // when the last byte went or came
	in          [2 * longestFrame]byte
	end         int
	out         []byte
	stop        func()
	times       times
}

// doubt says since when, and how badly, the answers of a unit cannot be believed.
type doubt struct {
	since       time.Time
	outstanding bool // an answer may still come, whatever came in its place
}

// NewLine returns a line; it connects with the first exchange.
func NewLine(o LineOptions) (*Line, error) {
	if o.Dial == nil {
		return nil, errors.New("line: no way to connect was given")
	}
	if o.Gap < 0 {
		return nil, fmt.Errorf("line: gap %v: it must not be negative", o.Gap)
	}
	l := &Line{dial: o.Dial, framing: o.Framing, gap: o.Gap, log: o.Log, turn: make(chan struct{}, 1), doubts: map[byte]doubt{}, kept: map[byte]time.Time{}}
	if l.log == nil {
		l.log = slog.New(slog.DiscardHandler)
	}
	l.turn <- struct{}{}
	return l, nil
}

// errGivesWay is an exchange that was not begun, since a halt wants the line.
var errGivesWay = fmt.Errorf("%w: a halt goes first", hal.ErrTimeout)

// cutSince tells whether an attempt of a halt was none: another one cut it short, or had it
// give way, which it may have begun before the attempt did.
func (l *Line) cutSince(cuts uint64, err error) bool {
	return l.cuts.Load() != cuts || errors.Is(err, errGivesWay)
}

// take waits for the line.
func (l *Line) take(ctx context.Context) error {
	select {
	case <-l.turn:
		return nil
	case <-ctx.Done():
		return fmt.Errorf("wait for the line: %w: %w", hal.ErrTimeout, ctx.Err())
	}
}

// turnOfHalt is how long a halt leaves another one its turn: it finds the step of a slow
// line in that. Two that cut each other short would both come to nothing.
const turnOfHalt = 100 * time.Millisecond

// takeNow gets the line for a halt: who has it is told to give way, another halt in a while.
func (l *Line) takeNow(ctx context.Context) error {
	defer l.hurry()()
	timer := time.NewTimer(turnOfHalt)
	defer timer.Stop()
	select {
	case <-l.turn:
		l.halts(true)
		return nil
	case <-timer.C:
		return l.press(ctx)
	case <-ctx.Done():
		return fmt.Errorf("wait for the line: %w: %w", hal.ErrTimeout, ctx.Err())
	}
}

// press gets the line for a halt, and from another one too.
func (l *Line) press(ctx context.Context) error {
	l.urgent.Add(1)
	defer l.urgent.Add(-1)
	l.pressed.Add(1)
	defer l.pressed.Add(-1)
	l.cut(true)
	if err := l.take(ctx); err != nil {
		return err
	}
	l.halts(true)
	return nil
}

// hurry ends what is being waited for on the line, and lets nobody but a halt wait there
// until the function that it returns is called.
func (l *Line) hurry() (done func()) {
	l.urgent.Add(1)
	l.cut(false)
	return func() { l.urgent.Add(-1) }
}

// cut ends what is being waited for on the line.
func (l *Line) cut(halts bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.transport == nil || l.halting && !halts {
		return
	}
	if l.halting {
		l.cuts.Add(1)
	}
	_ = l.transport.SetDeadline(time.Now()) // fails only on a broken connection, whose reads end by themselves
}

func (l *Line) halts(now bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.halting = now
}

// switching tells whether something else is being switched off on the line.
func (l *Line) switching() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.halting
}

func (l *Line) give() {
	l.halts(false)
	l.turn <- struct{}{}
}

func (l *Line) attach(t Transport) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.transport = t
}

// connect makes a connection where there is none that can be believed.
func (l *Line) connect(ctx context.Context, timeout time.Duration) error {
	if l.transport != nil && !l.stale {
		return nil
	}
	limited, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	transport, err := l.dial(limited)
	if err != nil {
		l.attach(nil)
		return fmt.Errorf("connect: %w: %w", hal.ErrGone, err)
	}
	l.attach(transport)
	l.made, l.end, l.stale = l.made+1, 0, false
	if l.framing == TCP {
		clear(l.doubts) // late answers died with the old connection
	}
	return nil
}

// arm bounds what follows by a time and by the context, and gives way to a halt. What
// disarm returns from must be called before the transport is used for anything else.
func (l *Line) arm(ctx context.Context, d time.Duration) error {
	l.times.over = ctx.Done()
	if err := l.until(time.Now().Add(d)); err != nil {
		return err
	}
	return l.watch(ctx)
}

// until moves the deadline. Whoever cuts an exchange short moves it too, so that is
// looked at behind it.
func (l *Line) until(moment time.Time) error {
	if err := l.transport.SetDeadline(moment); err != nil {
		return transportError("set the deadline", err)
	}
	if l.pressed.Load() > 0 || l.urgent.Load() > 0 && !l.switching() {
		return errGivesWay
	}
	select {
	case <-l.times.over:
		return fmt.Errorf("%w: no time left", hal.ErrTimeout)
	default:
		return nil
	}
}

// watch ends reads and writes when the context is cancelled.
func (l *Line) watch(ctx context.Context) error {
	if ctx.Err() != nil { // it may have ended since
		return fmt.Errorf("%w: no time left", hal.ErrTimeout)
	}
	transport, ended := l.transport, make(chan struct{})
	cancel := context.AfterFunc(ctx, func() {
		defer close(ended)
		_ = transport.SetDeadline(time.Now()) // fails only on a broken connection, whose reads end by themselves
	})
	l.stop = func() {
		if !cancel() {
			<-ended
		}
	}
	return nil
}

func (l *Line) disarm() {
	if l.stop != nil {
		l.stop()
		l.stop = nil
	}
}

// pause waits until the line was silent for the gap.
func (l *Line) pause(ctx context.Context) {
	rest := l.gap - time.Since(l.used)
	if l.gap <= 0 || rest <= 0 {
		return
	}
	timer := time.NewTimer(rest)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}

// exchange is what is asked of a unit, and how long its answer may take.
type exchange struct {
	unit     byte
	request  []byte
	patience time.Duration // until it begins
	longest  time.Duration // until it ends
	dropping bool          // whole answers to other questions of this unit are thrown away
}

// converse sends one request and reads its answer. The answer is good until the next.
func (l *Line) converse(ctx context.Context, x exchange) ([]byte, error) {
	l.pause(ctx)
	defer l.disarm()
	if err := l.arm(ctx, x.patience); err != nil {
		return nil, err
	}
	if err := l.send(x.unit, x.request); err != nil {
		return nil, err
	}
	l.times.begin(x)
	defer l.times.finish()
	for {
		answer, length, err := l.framing.answer(l, l.transaction, x.unit, x.request)
		switch {
		case errors.Is(err, errForeign), x.dropping && errors.Is(err, errEarlier):
			l.end = copy(l.in[:], l.in[length:l.end])
			if err := l.wait(); err != nil {
				return nil, err
			}
			continue
		case length > 0 && l.end > length:
			return nil, fmt.Errorf("%w: %d bytes more than an answer", errStray, l.end-length)
		}
		l.end = 0
		return answer, err
	}
}

func (l *Line) send(unit byte, request []byte) error {
	l.transaction++
	l.end = 0
	l.out = l.framing.appendFrame(l.out[:0], l.transaction, unit, request)
	n, err := l.transport.Write(l.out)
	l.used = time.Now()
	if err == nil && n < len(l.out) {
		err = io.ErrShortWrite
	}
	if err != nil {
		return transportError("ask", err)
	}
	return nil
}

// peek returns the first n bytes of what came, and waits for them.
func (l *Line) peek(n int) ([]byte, error) {
	for l.end < n {
		got, err := l.transport.Read(l.in[l.end:])
		l.end += got
		if got > 0 {
			l.used = time.Now()
		}
		if l.end >= n {
			break
		}
		if err != nil {
			err = transportError("read the answer", err)
		}
		if err = l.goOn(got, err); err != nil {
			return nil, err
		}
	}
	return l.in[:n], nil
}

// unasked tells whether bytes came that belong to no request.
func (l *Line) unasked() (bool, error) {
	pender, ok := l.transport.(Pender)
	if !ok {
		return false, nil
	}
	if err := l.transport.SetDeadline(time.Now().Add(quiet)); err != nil {
		return false, transportError("look for stray bytes", err)
	}
	there, err := pender.Pending()
	if err == nil && there { // bytes, or the end of the connection
		_, err = l.transport.Read(l.in[:])
	}
	if err != nil {
		return false, transportError("look for stray bytes", err)
	}
	return there, nil
}

// transportError turns an error of a transport into one of the sentinels.
func transportError(doing string, err error) error {
	var timeout interface{ Timeout() bool }
	if errors.Is(err, os.ErrDeadlineExceeded) || errors.As(err, &timeout) && timeout.Timeout() {
		return fmt.Errorf("%s: %w", doing, hal.ErrTimeout)
	}
	return fmt.Errorf("%s: %w: %w", doing, hal.ErrGone, err)
}
