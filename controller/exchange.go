package controller

import (
	"context"
	"sync"
	"time"
)

// exchange is the context under which the owner talks to the devices. It is
// cancelled when one exchange takes longer than its bound, and by whoever wants
// the output off now; the owner renews it at the start of a tick. One context and
// one timer serve many exchanges: new ones for each would cost more than the rest
// of a simulated tick.
type exchange struct {
	bound time.Duration // of one exchange; 0: not watched, for devices in memory that wait for nothing

	mu       sync.Mutex
	ctx      context.Context
	cancel   context.CancelFunc
	timer    *time.Timer
	armed    bool
	fires    time.Time // when the timer does, while it is armed
	began    time.Time
	deadline time.Time
	running  bool
	spent    time.Duration // in exchanges since this was last asked, none longer than it may be
}

func newExchange(bound time.Duration) *exchange {
	e := &exchange{bound: bound}
	e.ctx, e.cancel = context.WithCancel(context.Background())
	return e
}

// renew makes a fresh context where the last one was cancelled.
func (e *exchange) renew() {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.ctx.Err() != nil {
		e.ctx, e.cancel = context.WithCancel(context.Background())
	}
}

// begin starts the bound for this many exchanges in a row.
func (e *exchange) begin(count int) context.Context {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.bound == 0 {
		return e.ctx
	}
	bound := time.Duration(count) * e.bound
	e.began = time.Now()
	e.deadline, e.running = e.began.Add(bound), true
	if !e.armed || e.deadline.Before(e.fires) { // what it was set for may have been longer
		e.arm(e.bound)
	}
	return e.ctx
}

// beginUntil is begin with a moment at which to give up anyway; zero for none.
func (e *exchange) beginUntil(count int, until time.Time) context.Context {
	ctx := e.begin(count)
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.bound != 0 && !until.IsZero() && until.Before(e.deadline) {
		e.deadline = until
		e.arm(time.Until(until))
	}
	return ctx
}

func (e *exchange) end() {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.bound != 0 && e.running {
		e.spent += max(0, min(time.Since(e.began), e.deadline.Sub(e.began)))
	}
	e.running = false
}

// takeSpent is how long exchanges were waited for since it was last asked.
func (e *exchange) takeSpent() time.Duration {
	e.mu.Lock()
	defer e.mu.Unlock()
	spent := e.spent
	e.spent = 0
	return spent
}

// overdue is how long ago the last exchange should have been over; negative before that.
func (e *exchange) overdue(now time.Time) time.Duration {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.bound == 0 {
		return 0
	}
	return now.Sub(e.deadline)
}

// arm sets the timer. It is left alone while it runs: what it was set for may be
// over when it fires, and then it is set again or left off.
func (e *exchange) arm(after time.Duration) {
	e.armed, e.fires = true, time.Now().Add(after)
	if e.timer == nil {
		e.timer = time.AfterFunc(after, e.expire)
		return
	}
	e.timer.Reset(after)
}

func (e *exchange) expire() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.armed = false
	if !e.running {
		return
	}
	if left := time.Until(e.deadline); left > 0 {
		e.arm(left)
		return
	}
	e.cancel()
}

// interrupt cancels the exchange under way and all others of this tick.
func (e *exchange) interrupt() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.cancel()
}
