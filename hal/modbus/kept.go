package modbus

import (
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

const (
	// lastWord is how long a connection is kept behind an off that nobody confirmed: a
	// device that takes half a second for each question comes to it behind three others,
	// and what has not been read of a connection that is given up may be lost.
	lastWord = 2 * time.Second
	// mostAlone is the longest time for which a device is left alone with its questions: one
	// that was silent for half a second is asked again within the second that ends a run.
	mostAlone = 400 * time.Millisecond
)

// keep holds on to the connection for a unit whose output may be on, whatever answers
// come: on another one it would have to say first who it is, and in garbage nobody can.
func (l *Line) keep(unit byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.kept[unit] = time.Time{}
}

// said lets go of it a while after the first off that was said without an answer.
func (l *Line) said(unit byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if until, held := l.kept[unit]; held && until.IsZero() {
		l.kept[unit] = time.Now().Add(lastWord)
	}
}

// release lets go of it: the output is off.
func (l *Line) release(unit byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.kept, unit)
}

// holds tells whether the connection is kept for any unit.
func (l *Line) holds() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, until := range l.kept {
		if until.IsZero() || time.Now().Before(until) {
			return true
		}
	}
	return false
}

// unsaid tells whether a unit's output may be on and no off was said yet.
func (l *Line) unsaid(unit byte) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	until, held := l.kept[unit]
	return held && until.IsZero()
}

// count keeps how many questions in a row had no answer.
func (d *device) count(err error) {
	d.missed++
	if !errors.Is(err, hal.ErrTimeout) {
		d.missed = 0
	}
}

// alone is an error while a device has two or more questions to answer and its output may
// be on: it does one thing after the other, and off would stand behind more of them. The
// time doubles with each answer that is missing, as that of answerTime does.
func (d *device) alone() error {
	if d.missed < 2 || d.hurry || !d.line.unsaid(d.unit) {
		return nil
	}
	rest := time.Until(d.asked.Add(min(mostAlone, d.timeout<<min(d.missed, 4))))
	if rest <= 0 {
		return nil
	}
	return fmt.Errorf("%w: %d questions are without an answer, and the next one waits for %v", hal.ErrTimeout, d.missed, rest)
}
