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
	hasten chan struct{} // capacity one: a tick is wanted now
}

// NewTicker returns a pacer with this period, which must be positive.
func NewTicker(period time.Duration) (*Ticker, error) {
	if period <= 0 {
		return nil, fmt.Errorf("tick of %v: it must be longer than nothing", period)
	}
	return &Ticker{period: period, hasten: make(chan struct{}, 1)}, nil
}

// Now is the time that Next tells, between two ticks.
func (t *Ticker) Now() time.Time { return time.Now() }

// Pace sets another period, from the next tick on. It is for the goroutine of Next.
func (t *Ticker) Pace(period time.Duration) { t.period = period }

// Next waits until the next tick is due and returns the true time. The grid stays
// where it was: ticks that passed meanwhile are left out, not made up for, and one that
// was hastened stands beside it.
func (t *Ticker) Next(ctx context.Context) (time.Time, error) {
	now := time.Now()
	due := t.nextDue(now)
	onTime, err := waitFor(ctx, due.Sub(now), t.hasten)
	if err != nil {
		return time.Time{}, err
	}
	if onTime {
		t.due = due
	}
	return time.Now(), nil
}

// Hasten ends the wait for the next tick at once, or the next wait where none is under
// way. It may be called from any goroutine.
func (t *Ticker) Hasten() {
	select {
	case t.hasten <- struct{}{}:
	default: // one is on its way
	}
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

// waitFor waits until d has passed, and tells whether it did: less where hasten says so.
func waitFor(ctx context.Context, d time.Duration, hasten <-chan struct{}) (passed bool, err error) {
	if err := ctx.Err(); err != nil {
		return false, err
	}
	if d <= 0 {
		return true, nil
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false, ctx.Err()
	case <-hasten:
		return false, nil
	case <-timer.C:
		return true, nil
	}
}
