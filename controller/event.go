package controller

import (
	"sync"

	"anodized/controller/fault"
	"anodized/controller/record"
)

// The kinds of events.
const (
	KindState    = "state"
	KindFinding  = "finding"
	KindProgress = "progress"
	KindWarning  = "warning"
	KindQuestion = "question"
	KindAnswer   = "answer"
	KindTrip     = "trip"
	KindNote     = "note"
	KindResult   = "result"
)

// Event is something that happened, for those who follow the Station. T counts
// from the first energised second.
type Event struct {
	Kind      string         `json:"event"`
	T         Number         `json:"t_s"`
	State     string         `json:"state,omitempty"`
	Code      fault.Code     `json:"code,omitempty"`
	Text      string         `json:"text,omitempty"`
	Action    string         `json:"action,omitempty"`
	Finding   *fault.Finding `json:"finding,omitempty"`
	Progress  *ProgressEvent `json:"progress,omitempty"`
	Simulated bool           `json:"simulated"`

	Result *record.Result `json:"-"` // of KindResult, whole and last
}

// ProgressEvent is where the run is, once a second.
type ProgressEvent struct {
	Volts            Number   `json:"volts"`
	Amperes          Number   `json:"amperes"`
	SetVolts         Number   `json:"set_volts"`
	Density          Number   `json:"current_density_ma_cm2"`
	ThicknessByVolts Number   `json:"thickness_by_volts_nm"`
	Fraction         Number   `json:"fraction"`
	SecondsLeft      Number   `json:"seconds_left"`
	WaitingFor       []string `json:"waiting_for,omitempty"`
}

// listeners are those who follow. None of them can hold up the owner: an event
// that does not fit is left out for that one, but a result never is.
type listeners struct {
	mu     sync.Mutex
	all    map[*listener]struct{}
	closed bool
}

type listener struct {
	out     chan Event
	room    int
	more    chan struct{} // capacity one: something waits in pending
	done    chan struct{}
	mu      sync.Mutex
	pending []Event
	ended   bool
}

func (l *listeners) add(buffer int) *listener {
	one := &listener{
		out: make(chan Event), room: max(buffer, 1),
		more: make(chan struct{}, 1), done: make(chan struct{}),
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.all == nil {
		l.all = map[*listener]struct{}{}
	}
	l.all[one] = struct{}{}
	one.ended = l.closed
	go one.deliver()
	one.nudge()
	return one
}

func (l *listeners) remove(one *listener) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if _, here := l.all[one]; here {
		delete(l.all, one)
		close(one.done)
	}
}

func (l *listeners) send(ev Event) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for one := range l.all {
		one.put(ev)
	}
}

// close ends every listener once it has taken what waits for it.
func (l *listeners) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	for one := range l.all {
		one.end()
	}
}

func (one *listener) put(ev Event) {
	one.mu.Lock()
	if len(one.pending) < one.room || ev.Kind == KindResult {
		one.pending = append(one.pending, ev)
	}
	one.mu.Unlock()
	one.nudge()
}

func (one *listener) end() {
	one.mu.Lock()
	one.ended = true
	one.mu.Unlock()
	one.nudge()
}

func (one *listener) nudge() {
	select {
	case one.more <- struct{}{}:
	default:
	}
}

// deliver hands over what waits, in order, until the listener leaves or the
// Station has ended.
func (one *listener) deliver() {
	defer close(one.out)
	for {
		select {
		case <-one.done:
			return
		case <-one.more:
		}
		events, ended := one.collect()
		for _, ev := range events {
			select {
			case <-one.done:
				return
			case one.out <- ev:
			}
		}
		if ended && len(events) == 0 {
			return
		}
		if ended {
			one.nudge()
		}
	}
}

func (one *listener) collect() ([]Event, bool) {
	one.mu.Lock()
	defer one.mu.Unlock()
	events := one.pending
	one.pending = nil
	return events, one.ended
}
