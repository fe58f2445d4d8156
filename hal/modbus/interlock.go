package modbus

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"sync/atomic"
	"time"

	"anodized/hal"
)

// DefaultTimeout is how long an answer may take where nothing else is said.
const DefaultTimeout = 300 * time.Millisecond

// Transport carries bytes to a device and back. The driver cannot close it.
type Transport interface {
	io.ReadWriter
	SetDeadline(t time.Time) error
}

// Dial drops the connection there was and makes a new one, which the one who gave
// the function owns.
type Dial func(ctx context.Context) (Transport, error)

// Options say where the two channels are found.
type Options struct {
	Dial    Dial
	Unit    int           // 0 to 255
	Inputs  [2]int        // addresses from 0, different, less than 2000 apart
	Timeout time.Duration // of one answer; 0: DefaultTimeout
}

// Interlock is a lid switch whose two contacts are discrete inputs. It satisfies
// hal.Interlock. One goroutine owns it.
type Interlock struct {
	dial        Dial
	request     request
	offsets     [2]int // of the channels in the answer
	timeout     time.Duration
	busy        atomic.Bool
	transport   Transport // nil: not connected
	transaction uint16
	out         []byte
	in          [longestFrame]byte
}

// New returns an interlock; it connects with the first reading.
func New(o Options) (*Interlock, error) {
	low, high := min(o.Inputs[0], o.Inputs[1]), max(o.Inputs[0], o.Inputs[1])
	switch {
	case o.Dial == nil:
		return nil, errors.New("interlock: no way to connect was given")
	case o.Unit < 0 || o.Unit > 255:
		return nil, fmt.Errorf("interlock: unit %d: 0 to 255 are allowed", o.Unit)
	case low < 0 || high > 65535:
		return nil, fmt.Errorf("interlock: inputs %v: addresses from 0 to 65535 are allowed", o.Inputs)
	case low == high:
		return nil, fmt.Errorf("interlock: inputs %v: the two channels must be two different inputs", o.Inputs)
	case high-low >= mostInputs:
		return nil, fmt.Errorf("interlock: inputs %v: both must fit in one reading, at most %d apart", o.Inputs, mostInputs-1)
	case o.Timeout < 0:
		return nil, fmt.Errorf("interlock: timeout %v: it must not be negative", o.Timeout)
	case o.Timeout == 0:
		o.Timeout = DefaultTimeout
	}
	return &Interlock{
		dial: o.Dial, timeout: o.Timeout,
		request: request{unit: byte(o.Unit), first: uint16(low), count: uint16(high - low + 1)},
		offsets: [2]int{o.Inputs[0] - low, o.Inputs[1] - low},
	}, nil
}

// Channels reads both channels in one exchange. Any error means open, and both
// channels beside it are open.
func (i *Interlock) Channels(ctx context.Context) (hal.Channels, error) {
	if !i.busy.CompareAndSwap(false, true) {
		return hal.Channels{}, errors.New("read the interlock: a second call while one is under way")
	}
	defer i.busy.Store(false)
	asked := time.Now()
	packed, err := i.exchange(ctx)
	if err != nil {
		return hal.Channels{}, fmt.Errorf("read the interlock: %w", err)
	}
	channels := hal.Channels{At: asked.Add(time.Since(asked) / 2)}
	for n, offset := range i.offsets {
		channels.Closed[n] = bit(packed, offset)
	}
	return channels, nil
}

// exchange asks on a connection that is known to be in step, and drops it after
// any error that leaves doubt about the next answer.
func (i *Interlock) exchange(ctx context.Context) ([]byte, error) {
	limited, cancel := context.WithTimeout(ctx, i.timeout)
	defer cancel()
	if err := i.connect(limited); err != nil {
		return nil, err
	}
	stop, err := i.limit(limited)
	var packed []byte
	if err == nil {
		packed, err = i.converse()
		stop()
	}
	if err == nil {
		return packed, nil
	}
	var exception Exception
	if !errors.As(err, &exception) {
		i.transport = nil
	}
	if ctx.Err() != nil {
		return nil, fmt.Errorf("cut off: %w: %w", ctx.Err(), err)
	}
	return nil, err
}

func (i *Interlock) connect(ctx context.Context) error {
	if i.transport != nil {
		return nil
	}
	transport, err := i.dial(ctx)
	if err != nil {
		return fmt.Errorf("connect: %w: %w", hal.ErrGone, err)
	}
	i.transport = transport
	return nil
}

func (i *Interlock) converse() ([]byte, error) {
	i.transaction++
	r := i.request
	r.transaction = i.transaction
	i.out = r.appendTo(i.out[:0])
	if _, err := i.transport.Write(i.out); err != nil {
		return nil, transportError("ask", err)
	}
	header := i.in[:headerLength]
	if _, err := io.ReadFull(i.transport, header); err != nil {
		return nil, transportError("read the answer", err)
	}
	length, err := r.bodyLength(header)
	if err != nil {
		return nil, err
	}
	body := i.in[headerLength : headerLength+length]
	if _, err := io.ReadFull(i.transport, body); err != nil {
		return nil, transportError("read the answer", err)
	}
	return r.inputs(body)
}

// limit ends reads and writes at the deadline of the context, or at once where it
// is cancelled before.
func (i *Interlock) limit(ctx context.Context) (stop func(), err error) {
	transport, ended := i.transport, make(chan struct{})
	deadline, _ := ctx.Deadline()
	if err := transport.SetDeadline(deadline); err != nil {
		return nil, transportError("set the deadline", err)
	}
	cancel := context.AfterFunc(ctx, func() {
		defer close(ended)
		_ = transport.SetDeadline(time.Now()) // fails only on a broken connection, whose read ends by itself
	})
	return func() {
		if !cancel() {
			<-ended
		}
	}, nil
}

func transportError(doing string, err error) error {
	var timeout interface{ Timeout() bool }
	if errors.Is(err, os.ErrDeadlineExceeded) || errors.As(err, &timeout) && timeout.Timeout() {
		return fmt.Errorf("%s: %w", doing, hal.ErrTimeout)
	}
	return fmt.Errorf("%s: %w: %w", doing, hal.ErrGone, err)
}
