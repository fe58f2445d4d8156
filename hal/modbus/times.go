package modbus

import (
	"errors"
	"time"

	"anodized/hal"
)

// standstill is far beyond what it takes to wake up: where a wait was over by more than
// that, this computer stood still, and the answer was not late by its own fault.
const standstill = 20 * time.Millisecond

// times are those of one exchange on a line.
type times struct {
	running bool
	by      time.Time // when reading gives up
	begins  time.Time // when the answer must have begun
	ends    time.Time // when it must have ended
	graced  bool
	over    <-chan struct{} // of the context
}

func (t *times) begin(x exchange) {
	now := time.Now()
	t.running, t.graced = true, false
	t.begins, t.ends = now.Add(x.patience), now.Add(max(x.patience, x.longest))
}

func (t *times) finish() { t.running = false }

// wait waits for another answer than the one that came, as long as the right one may take.
func (l *Line) wait() error {
	if l.framing == TCP {
		return nil
	}
	return l.until(l.times.begins)
}

// goOn tells, by an error, that no more of an answer will come: within a frame a serial
// line is silent for no longer than an adapter holds back what it has (the 1.5 characters
// of MODBUS over Serial Line V1.02, 2.5.1.1, cannot be seen behind a system's buffers).
func (l *Line) goOn(got int, err error) error {
	t := &l.times
	switch {
	case !t.running || l.framing == TCP:
		return err
	case err != nil && errors.Is(err, hal.ErrTimeout) && l.stoodStill():
		t.graced = true
		return l.until(time.Now().Add(quiet))
	case err != nil:
		return err
	case got > 0:
		return l.until(earlier(time.Now().Add(quiet), t.ends))
	}
	return nil
}

// stoodStill tells whether the time is over because this computer stood still, once an
// exchange; a wait that was cut short is over.
func (l *Line) stoodStill() bool {
	select {
	case <-l.times.over:
		return false
	default:
		return !l.times.graced && l.urgent.Load() == 0 && time.Since(l.times.by) > standstill
	}
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
