package campaign_test

import (
	"context"
	"sync"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// tracedSupply notes when the Station calls for off, and what it asked before that.
type tracedSupply struct {
	hal.Supply
	halted moment

	mu   sync.Mutex
	last question
}

type question struct {
	what         string
	began, ended time.Time // ended zero: it is under way
}

// traced is a supply that notes, and keeps the supply's own trip where it has one.
func traced(s hal.Supply) (hal.Supply, *tracedSupply) {
	t := &tracedSupply{Supply: s}
	t.halted.disarm()
	if protector, can := s.(hal.Protector); can {
		return struct {
			*tracedSupply
			hal.Protector
		}{t, protector}, t
	}
	return t, t
}

func (t *tracedSupply) ask(what string) (done func()) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.last = question{what: what, began: time.Now()}
	return func() {
		t.mu.Lock()
		defer t.mu.Unlock()
		t.last.ended = time.Now()
	}
}

// before is what was asked last, as times since the opening.
func (t *tracedSupply) before(began time.Time) asking {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.last.ended.IsZero() {
		return asking{t.last.what, t.last.began.Sub(began), time.Since(began)}
	}
	return asking{t.last.what, t.last.began.Sub(began), t.last.ended.Sub(began)}
}

func (t *tracedSupply) Halt(ctx context.Context) error {
	t.halted.now()
	return t.Supply.Halt(ctx)
}

func (t *tracedSupply) Measure(ctx context.Context) (hal.Sample, error) {
	defer t.ask("measured")()
	return t.Supply.Measure(ctx)
}

func (t *tracedSupply) Check(ctx context.Context) (hal.State, error) {
	defer t.ask("checked")()
	return t.Supply.Check(ctx)
}

func (t *tracedSupply) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	defer t.ask("set volts")()
	return t.Supply.SetVoltage(ctx, v)
}

func (t *tracedSupply) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	defer t.ask("set amperes")()
	return t.Supply.SetCurrent(ctx, a)
}
