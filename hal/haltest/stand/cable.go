package stand

import (
	"io"
	"net"
	"os"
	"sync"
	"time"
)

// Cable is a line in memory. It has no time of its own and no length, keeps what nobody
// read yet, and can be pulled.
type Cable struct{ Near, Far *End }

// NewCable returns a cable in one piece.
func NewCable() Cable {
	there, back := newQueue(), newQueue()
	return Cable{&End{in: back, out: there, poke: make(chan struct{}, 1)}, &End{in: there, out: back, poke: make(chan struct{}, 1)}}
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

// put is false where the cable was pulled.
func (q *queue) put(p []byte) (there bool) {
	q.change(func() {
		if there = !q.ended; there {
			q.bytes = append(q.bytes, p...)
		}
	})
	return there
}

func signal(to chan struct{}) {
	select {
	case to <- struct{}{}:
	default: // one that was not taken yet stands for this one too
	}
}

// End is what a program or an instrument holds of a cable. One goroutine reads it.
type End struct {
	in, out *queue
	mu      sync.Mutex
	readBy  time.Time
	poke    chan struct{}  // the deadline changed
	through func(p []byte) // what becomes of what is written; nil: it arrives
	broken  bool           // a pulled cable is a broken one here, not one whose client went
}

func (e *End) take(p []byte) (n int, ended bool) {
	e.in.mu.Lock()
	defer e.in.mu.Unlock()
	n = copy(p, e.in.bytes)
	e.in.bytes = e.in.bytes[:copy(e.in.bytes, e.in.bytes[n:])]
	return n, e.in.ended
}

func (e *End) Read(p []byte) (int, error) {
	for {
		n, ended := e.take(p)
		switch {
		case n > 0:
			return n, nil
		case ended && e.broken:
			return 0, io.ErrClosedPipe
		case ended:
			return 0, io.EOF
		}
		if err := e.wait(); err != nil {
			return 0, err
		}
	}
}

// wait waits for bytes or for the deadline.
func (e *End) wait() error {
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

func (e *End) Write(p []byte) (int, error) {
	if e.through != nil && !e.pulled() {
		e.through(p)
		return len(p), nil
	}
	if !e.out.put(p) {
		return 0, io.ErrClosedPipe
	}
	return len(p), nil
}

func (e *End) pulled() bool {
	e.out.mu.Lock()
	defer e.out.mu.Unlock()
	return e.out.ended
}

// SetReadDeadline bounds reads; writes never wait.
func (e *End) SetReadDeadline(t time.Time) error {
	e.mu.Lock()
	e.readBy = t
	e.mu.Unlock()
	signal(e.poke)
	return nil
}

// SetDeadline is SetReadDeadline.
func (e *End) SetDeadline(t time.Time) error { return e.SetReadDeadline(t) }

// SetWriteDeadline has nothing to bound.
func (e *End) SetWriteDeadline(time.Time) error { return nil }

// Close pulls the cable: both ends read its end.
func (e *End) Close() error {
	for _, q := range []*queue{e.in, e.out} {
		q.change(func() { q.ended = true })
	}
	return nil
}

// Flush throws away what has arrived.
func (e *End) Flush() error {
	e.in.change(func() { e.in.bytes = nil })
	return nil
}

// Pending tells whether bytes have arrived, or the end.
func (e *End) Pending() (bool, error) {
	e.in.mu.Lock()
	defer e.in.mu.Unlock()
	return len(e.in.bytes) > 0 || e.in.ended, nil
}

// LocalAddr is the memory of this computer.
func (e *End) LocalAddr() net.Addr { return inMemory{} }

// RemoteAddr is the memory of this computer.
func (e *End) RemoteAddr() net.Addr { return inMemory{} }

type inMemory struct{}

func (inMemory) Network() string { return "memory" }
func (inMemory) String() string  { return "memory" }
