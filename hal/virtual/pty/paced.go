package pty

import (
	"io"
	"sync"
	"time"
)

// Stream is a line whose reads and writes can be bounded.
type Stream interface {
	io.ReadWriteCloser
	SetReadDeadline(time.Time) error
	SetWriteDeadline(time.Time) error
}

// Paced is a stream on which a byte takes its time, as on a serial line. It counts
// the time itself: a pseudo-terminal hands over everything at once.
type Paced struct {
	Stream
	perByte time.Duration
	free    time.Time     // when the wire has carried what was written so far
	stop    chan struct{} // closed by Close
	once    sync.Once
}

// Pace gives each byte the time of so many bits at this rate. A rate of 0 is no
// pacing.
func Pace(s Stream, bitsPerSecond, bitsPerByte int) *Paced {
	p := &Paced{Stream: s, stop: make(chan struct{})}
	if bitsPerSecond > 0 {
		p.perByte = time.Duration(bitsPerByte) * time.Second / time.Duration(bitsPerSecond)
	}
	return p
}

// Read returns bytes once their last bit can have arrived.
func (p *Paced) Read(b []byte) (int, error) {
	n, err := p.Stream.Read(b)
	if n > 0 && !p.pass(time.Duration(n)*p.perByte) {
		return n, io.ErrClosedPipe
	}
	return n, err
}

// leastPause is the shortest that is worth a timer. Bytes that take less come together,
// as they do from a USB adapter.
const leastPause = time.Millisecond

// Write sends the bytes in their time, and returns when the last one is out.
func (p *Paced) Write(b []byte) (int, error) {
	if p.perByte == 0 {
		return p.Stream.Write(b)
	}
	p.free = time.Now()
	together := max(1, int(leastPause/p.perByte))
	for i := 0; i < len(b); i += together {
		part := b[i:min(i+together, len(b))]
		p.free = p.free.Add(time.Duration(len(part)) * p.perByte)
		if !p.pass(time.Until(p.free)) {
			return i, io.ErrClosedPipe
		}
		if _, err := p.Stream.Write(part); err != nil {
			return i, err
		}
	}
	return len(b), nil
}

// pass lets time pass; false tells that the line was closed meanwhile.
func (p *Paced) pass(d time.Duration) bool {
	if d <= 0 {
		return true
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-p.stop:
		return false
	}
}

// Close ends the line and whoever waits on it.
func (p *Paced) Close() error {
	p.once.Do(func() { close(p.stop) })
	return p.Stream.Close()
}
