package controller

import (
	"context"
	"fmt"
	"time"
)

// Ticker paces a real bench by the monotonic clock of this computer.
type Ticker struct {
	period time.Duration
	due    time.Time
}

// NewTicker returns a pacer with this period, which must be positive.
func NewTicker(period time.Duration) (*Ticker, error) {
	if period <= 0 {
		return nil, fmt.Errorf("tick of %v: it must be longer than nothing", period)
	}
	return &Ticker{period: period}, nil
}

// Next waits until the next tick is due and returns the true time. The grid stays
// where it was: ticks that passed meanwhile are left out, not made up for.
func (t *Ticker) Next(ctx context.Context) (time.Time, error) {
	now := time.Now()
	t.due = t.nextDue(now)
	if err := waitFor(ctx, t.due.Sub(now)); err != nil {
		return time.Time{}, err
	}
	return time.Now(), nil
}

func (t *Ticker) nextDue(now time.Time) time.Time {
	if t.due.IsZero() {
		return now
	}
	due := t.due.Add(t.period)
	if late := now.Sub(due); late > 0 {
		due = due.Add((late + t.period - 1) / t.period * t.period)
	}
	return due
}

func waitFor(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if d <= 0 {
		return nil
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}
