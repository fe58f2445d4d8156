package modbus

import (
	"io"
	"os"
	"sync"
	"time"
)

// A wire is a connection in memory with a buffer each way, like a socket: what was
// written is there until it is read, also after a time-out.
type wire struct {
	mu       *sync.Mutex
	in, out  *buffer
	deadline time.Time
}

type buffer struct {
	bytes   []byte
	ended   bool
	changed chan struct{}
}

func newWire() (driver, far *wire) {
	a, b, mu := &buffer{changed: make(chan struct{})}, &buffer{changed: make(chan struct{})}, &sync.Mutex{}
	return &wire{mu: mu, in: a, out: b}, &wire{mu: mu, in: b, out: a}
}

func (b *buffer) wake() {
	close(b.changed)
	b.changed = make(chan struct{})
}

func (w *wire) Read(p []byte) (int, error) {
	for {
		w.mu.Lock()
		if len(w.in.bytes) > 0 {
			n := copy(p, w.in.bytes)
			w.in.bytes = w.in.bytes[n:]
			w.mu.Unlock()
			return n, nil
		}
		ended, changed, deadline := w.in.ended, w.in.changed, w.deadline
		w.mu.Unlock()
		if ended {
			return 0, io.EOF
		}
		if !waitFor(changed, deadline) {
			return 0, os.ErrDeadlineExceeded
		}
	}
}

func waitFor(changed chan struct{}, deadline time.Time) bool {
	if deadline.IsZero() {
		<-changed
		return true
	}
	timer := time.NewTimer(time.Until(deadline))
	defer timer.Stop()
	select {
	case <-changed:
		return true
	case <-timer.C:
		return false
	}
}

func (w *wire) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.out.ended {
		return 0, io.ErrClosedPipe
	}
	w.out.bytes = append(w.out.bytes, p...)
	w.out.wake()
	return len(p), nil
}

func (w *wire) SetDeadline(t time.Time) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.deadline = t
	w.in.wake()
	return nil
}

func (w *wire) Pending() (bool, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return len(w.in.bytes) > 0 || w.in.ended, nil
}

// Close ends both directions.
func (w *wire) Close() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.in.ended, w.out.ended = true, true
	w.in.wake()
	w.out.wake()
	return nil
}
