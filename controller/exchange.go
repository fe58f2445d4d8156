package controller

import (
	"context"
	"sync"
	"time"
)

// exchange is the context under which the owner talks to the devices. It is
// cancelled when one exchange takes longer than its bound, and by whoever wants
// the output off now; the owner renews it at the start of a tick. One context
// serves many exchanges: a new one with a deadline for each would cost more than
// the rest of a simulated tick.
type exchange struct {
	bound time.Duration

	mu       sync.Mutex
	ctx      context.Context
	cancel   context.CancelFunc
	timer    *time.Timer
	deadline time.Time
	running  bool
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
	bound := time.Duration(count) * e.bound
	e.deadline, e.running = time.Now().Add(bound), true
	if e.timer == nil {
		e.timer = time.AfterFunc(bound, e.expire)
	} else {
		e.timer.Reset(bound)
	}
	return e.ctx
}

func (e *exchange) end() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.running = false
	e.timer.Stop()
}

// expire may run late, when another exchange is on already: the deadline tells.
func (e *exchange) expire() {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.running && !time.Now().Before(e.deadline) {
		e.cancel()
	}
}

// interrupt cancels the exchange under way and all others of this tick.
func (e *exchange) interrupt() {
	e.mu.Lock()
	defer e.mu.Unlock()
	e.cancel()
}
