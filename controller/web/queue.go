package web

import "sync"

// The bounds of what waits for one client.
const (
	mostSnapshots = 16
	mostEvents    = 256
)

// The kinds of messages of a stream.
const (
	kindSnapshot = "snapshot"
	kindNow      = "now" // the same, in the words of the page
	kindEvent    = "event"
	kindResult   = "result"
)

// message is one message of a stream, ready to be sent.
type message struct {
	kind string
	id   uint64
	data []byte
}

func (m message) passing() bool { return m.kind == kindSnapshot || m.kind == kindNow }

// queue is what waits for one client. It never holds up who puts: where a client is
// slow the snapshots before the newest are left out, then the oldest events, a result
// never.
type queue struct {
	kinds   map[string]bool // which ones this client takes
	more    chan struct{}   // capacity one: something waits
	mu      sync.Mutex
	list    []message
	passing int
}

func newQueue(kinds ...string) *queue {
	q := &queue{kinds: map[string]bool{}, more: make(chan struct{}, 1)}
	for _, kind := range kinds {
		q.kinds[kind] = true
	}
	return q
}

func (q *queue) put(m message) {
	if !q.kinds[m.kind] {
		return
	}
	q.mu.Lock()
	q.makeRoom(m)
	q.list = append(q.list, m)
	if m.passing() {
		q.passing++
	}
	q.mu.Unlock()
	select {
	case q.more <- struct{}{}:
	default:
	}
}

// makeRoom leaves out what this client will not get any more.
func (q *queue) makeRoom(m message) {
	switch {
	case m.passing() && q.passing >= mostSnapshots:
		q.leaveOut(func(old message) bool { return old.passing() }, len(q.list))
		q.passing = 0
	case m.kind == kindEvent && len(q.list)-q.passing >= mostEvents:
		q.leaveOut(func(old message) bool { return old.kind == kindEvent }, 1)
	}
}

// leaveOut drops the oldest messages that are meant, at most so many.
func (q *queue) leaveOut(meant func(message) bool, most int) {
	kept := q.list[:0]
	for _, old := range q.list {
		if most > 0 && meant(old) {
			most--
			continue
		}
		kept = append(kept, old)
	}
	q.list = kept
}

// take removes all that waits.
func (q *queue) take() []message {
	q.mu.Lock()
	defer q.mu.Unlock()
	list := q.list
	q.list, q.passing = nil, 0
	return list
}
