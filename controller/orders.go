package controller

import (
	"sync"

	"anodized/controller/process"
)

// orders is the mailbox between those who ask and the owner. A stop clears a start
// that waits, so a start sent before a stop never overtakes it.
type orders struct {
	mu     sync.Mutex
	stop   process.Event // Stop, StopByEye or NoEvent
	why    string
	asks   bool // whether the end was good by eye, once it has stopped
	start  *Request
	answer process.Event // GoOn, GiveUp or NoEvent
	ack    string        // who acknowledges
	acked  bool
	closed bool
}

// order is what the owner takes from the mailbox in one tick: one event at most.
type order struct {
	event   process.Event
	why     string // of a stop
	asks    bool   // of a stop
	request *Request
	who     string
}

func (o *orders) askStop(event process.Event, why string) (dropped *Request) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.stop == process.NoEvent {
		o.stop, o.why = event, why
	}
	dropped, o.start = o.start, nil
	return dropped
}

// askEye adds the question after it to the stop that is asked next.
func (o *orders) askEye() {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.asks = true
}

func (o *orders) askStart(request Request) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	switch {
	case o.closed:
		return ErrStationClosed
	case o.start != nil:
		return ErrBusy
	}
	o.start = &request
	return nil
}

// putBack keeps a start that was taken for a later tick. False where a stop came since: that
// one was asked after it.
func (o *orders) putBack(request Request) bool {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.closed || o.start != nil || o.stop != process.NoEvent {
		return false
	}
	o.start = &request
	return true
}

func (o *orders) askAnswer(event process.Event) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.answer = event
}

func (o *orders) askAcknowledge(who string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.ack, o.acked = who, true
}

// stopping tells whether a stop waits for the owner.
func (o *orders) stopping() bool {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.stop != process.NoEvent
}

// take returns the most urgent order and removes it.
func (o *orders) take() order {
	o.mu.Lock()
	defer o.mu.Unlock()
	switch {
	case o.stop != process.NoEvent:
		taken := order{event: o.stop, why: o.why, asks: o.asks}
		o.stop, o.why, o.asks = process.NoEvent, "", false
		return taken
	case o.answer != process.NoEvent:
		taken := order{event: o.answer}
		o.answer = process.NoEvent
		return taken
	case o.acked:
		taken := order{event: process.Acknowledge, who: o.ack}
		o.ack, o.acked = "", false
		return taken
	case o.start != nil:
		taken := order{event: process.Start, request: o.start}
		o.start = nil
		return taken
	}
	return order{}
}

// close refuses every later start; one that still waits is dropped.
func (o *orders) close() {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.closed, o.start = true, nil
}
