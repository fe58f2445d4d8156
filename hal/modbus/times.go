package modbus

import "time"

// brokenOff is how long a line is silent within a frame that will not go on: an adapter
// holds back what it has for some 16 ms, and a busy computer for longer.
const brokenOff = 100 * time.Millisecond

// times are those of one exchange on a line.
type times struct {
	running bool
	begins  time.Time       // when the answer must have begun
	ends    time.Time       // when it must have ended
	over    <-chan struct{} // of the context
}

func (t *times) begin(x exchange) {
	now := time.Now()
	t.running = true
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

// goOn has an answer that has begun end soon after its last byte: the 1.5 characters of
// MODBUS over Serial Line V1.02, 2.5.1.1, cannot be seen behind a system's buffers.
func (l *Line) goOn(got int, err error) error {
	t := &l.times
	if err != nil || got == 0 || !t.running || l.framing == TCP {
		return err
	}
	return l.until(earlier(time.Now().Add(brokenOff), t.ends))
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
