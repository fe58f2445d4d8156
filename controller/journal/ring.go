package journal

import (
	"sync"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// ring holds what is not written yet: rows, the oldest of which give way when it
// is full, because the end of a run is what it is judged by, and events, the first
// of which are kept, because the first cause is what explains. Its lock is never
// held over a disk access.
type ring struct {
	mu       sync.Mutex
	accept   bool
	rows     []record.Row // a circle that starts at head
	head     int
	count    int
	mostRows int
	gap      gap
	dropped  int64
	events   []record.Event
	wake     chan struct{}
}

// gap is a stretch of rows that were dropped.
type gap struct {
	rows     int64
	events   int64
	from, to unit.Seconds
}

const (
	mostEvents = 4096
	firstRows  = 256 // room to begin with; it doubles until mostRows
	hurryRows  = 512 // a simulation outruns the clock: this many are written at once
)

func newRing() *ring { return &ring{wake: make(chan struct{}, 1)} }

func (r *ring) open(mostRows int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.accept, r.mostRows = true, mostRows
	r.rows = make([]record.Row, min(firstRows, mostRows))
	r.head, r.count, r.gap, r.events = 0, 0, gap{}, nil
}

func (r *ring) shut() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.accept = false
}

func (r *ring) append(row record.Row) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if !r.accept {
		return
	}
	if r.count == len(r.rows) && !r.grow() {
		r.dropOldest()
	}
	r.rows[(r.head+r.count)%len(r.rows)] = row
	r.count++
	if r.count == 1 || r.count == hurryRows {
		r.call()
	}
}

func (r *ring) grow() bool {
	if len(r.rows) >= r.mostRows {
		return false
	}
	larger := make([]record.Row, min(2*len(r.rows), r.mostRows))
	n := copy(larger, r.rows[r.head:])
	copy(larger[n:], r.rows[:r.head])
	r.rows, r.head = larger, 0
	return true
}

func (r *ring) dropOldest() {
	lost := r.rows[r.head].T
	if r.gap.rows == 0 {
		r.gap.from = lost
	}
	r.gap.to = lost
	r.gap.rows++
	r.dropped++
	r.head = (r.head + 1) % len(r.rows)
	r.count--
}

func (r *ring) note(ev record.Event) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if !r.accept {
		return
	}
	if len(r.events) == mostEvents {
		r.gap.events++
		return
	}
	r.events = append(r.events, ev)
	if len(r.events) == 1 {
		r.call()
	}
}

func (r *ring) call() {
	select {
	case r.wake <- struct{}{}:
	default: // it has been called already
	}
}

// take removes what one transaction writes.
func (r *ring) take(mostRows int) ([]record.Row, []record.Event, gap) {
	r.mu.Lock()
	defer r.mu.Unlock()
	rows := make([]record.Row, min(r.count, mostRows))
	for i := range rows {
		rows[i] = r.rows[(r.head+i)%len(r.rows)]
	}
	if len(rows) > 0 {
		r.head = (r.head + len(rows)) % len(r.rows)
		r.count -= len(rows)
	}
	events, lost := r.events, r.gap
	r.events, r.gap = nil, gap{}
	return rows, events, lost
}

func (r *ring) waiting() (rows int, dropped int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.count, r.dropped
}
