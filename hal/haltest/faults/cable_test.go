package faults

import (
	"context"
	"io"
	"net"
	"os"
	"sync"
	"time"
)

// cable is a line in memory. It has no time of its own and no length, keeps what nobody
// read yet, and can be pulled.
type cable struct{ near, far *end }

func newCable() cable {
	there, back := newQueue(), newQueue()
	return cable{&end{in: back, out: there, poke: make(chan struct{}, 1)}, &end{in: there, out: back, poke: make(chan struct{}, 1)}}
}

// queue is one direction.
type queue struct {
	mu    sync.Mutex
	bytes []byte
	ended bool
	more  chan struct{} // capacity one: something changed
}

func newQueue() *queue { return &queue{more: make(chan struct{}, 1)} }

func (q *queue) change(do func()) {
	q.mu.Lock()
	do()
	q.mu.Unlock()
	signal(q.more)
}

func signal(to chan struct{}) {
	select {
	case to <- struct{}{}:
	default: // one that was not taken yet stands for this one too
	}
}

// end is what a program or an instrument holds of a cable. One goroutine reads it.
type end struct {
	in, out *queue
	mu      sync.Mutex
	readBy  time.Time
	poke    chan struct{} // the deadline changed
}

func (e *end) take(p []byte) (n int, ended bool) {
	e.in.mu.Lock()
	defer e.in.mu.Unlock()
	n = copy(p, e.in.bytes)
	e.in.bytes = e.in.bytes[:copy(e.in.bytes, e.in.bytes[n:])]
	return n, e.in.ended
}

func (e *end) Read(p []byte) (int, error) {
	for {
		n, ended := e.take(p)
		switch {
		case n > 0:
			return n, nil
		case ended:
			return 0, io.EOF
		}
		if err := e.wait(); err != nil {
			return 0, err
		}
	}
}

// wait waits for bytes or for the deadline.
func (e *end) wait() error {
	e.mu.Lock()
	by := e.readBy
	e.mu.Unlock()
	var due <-chan time.Time
	if !by.IsZero() {
		timer := time.NewTimer(time.Until(by))
		defer timer.Stop()
		due = timer.C
	}
	select {
	case <-e.in.more:
	case <-e.poke:
	case <-due:
		return os.ErrDeadlineExceeded
	}
	return nil
}

func (e *end) Write(p []byte) (int, error) {
	gone := false
	e.out.change(func() {
		if gone = e.out.ended; !gone {
			e.out.bytes = append(e.out.bytes, p...)
		}
	})
	if gone {
		return 0, io.ErrClosedPipe
	}
	return len(p), nil
}

func (e *end) SetReadDeadline(t time.Time) error {
	e.mu.Lock()
	e.readBy = t
	e.mu.Unlock()
	signal(e.poke)
	return nil
}

func (e *end) SetDeadline(t time.Time) error    { return e.SetReadDeadline(t) }
func (e *end) SetWriteDeadline(time.Time) error { return nil }

// Close pulls the cable: both ends read its end.
func (e *end) Close() error {
	for _, q := range []*queue{e.in, e.out} {
		q.change(func() { q.ended = true })
	}
	return nil
}

// Flush throws away what has arrived.
func (e *end) Flush() error {
	e.in.change(func() { e.in.bytes = nil })
	return nil
}

// Pending tells whether bytes have arrived, or the end.
func (e *end) Pending() (bool, error) {
	e.in.mu.Lock()
	defer e.in.mu.Unlock()
	return len(e.in.bytes) > 0 || e.in.ended, nil
}

func (e *end) LocalAddr() net.Addr  { return inMemory{} }
func (e *end) RemoteAddr() net.Addr { return inMemory{} }

type inMemory struct{}

func (inMemory) Network() string { return "memory" }
func (inMemory) String() string  { return "memory" }

// exchangeRoom is a listener in memory: whoever dials has a cable to it.
type exchangeRoom struct {
	calls  chan net.Conn
	closed chan struct{}
	once   sync.Once
}

func newExchangeRoom() *exchangeRoom {
	return &exchangeRoom{calls: make(chan net.Conn), closed: make(chan struct{})}
}

func (r *exchangeRoom) Accept() (net.Conn, error) {
	select {
	case conn := <-r.calls:
		return conn, nil
	case <-r.closed:
		return nil, net.ErrClosed
	}
}

func (r *exchangeRoom) Close() error {
	r.once.Do(func() { close(r.closed) })
	return nil
}

func (r *exchangeRoom) Addr() net.Addr { return inMemory{} }

func (r *exchangeRoom) dial(ctx context.Context) (*end, error) {
	line := newCable()
	select {
	case r.calls <- line.far:
		return line.near, nil
	case <-r.closed:
		return nil, net.ErrClosed
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
