package probe

import (
	"context"
	"fmt"
	"math"
	"sync"
	"time"

	"anodized/hal"
)

// latest is the last reading of a slow device, for those who must not wait for it.
type latest[Q ~float64] struct {
	what   string        // in errors
	oldest time.Duration // an older reading is none

	mu    sync.Mutex
	value Q
	at    time.Time
	err   error
}

func newLatest[Q ~float64](what string, oldest time.Duration) latest[Q] {
	return latest[Q]{what: what, oldest: oldest, err: fmt.Errorf("%w: nothing read yet", hal.ErrNoReading)}
}

// get is an error, and not a number, where the last attempt failed or the reading is old.
func (l *latest[Q]) get() (Q, time.Time, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	nothing := Q(math.NaN())
	if l.err != nil {
		return nothing, l.at, fmt.Errorf("%s: %w", l.what, l.err)
	}
	if age := time.Since(l.at); age > l.oldest {
		return nothing, l.at, fmt.Errorf("%s: %w: the last one is %v old", l.what, hal.ErrNoReading, age.Round(time.Millisecond))
	}
	return l.value, l.at, nil
}

// store keeps a reading of a moment, or why there is none.
func (l *latest[Q]) store(value Q, at time.Time, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.err = err; err == nil {
		l.value, l.at = value, at
	}
}

// repeat reads at once and then in each period until the context ends. What takes longer
// is begun again at once.
func repeat(ctx context.Context, period time.Duration, read func(context.Context)) {
	ticker := time.NewTicker(period)
	defer ticker.Stop()
	for ctx.Err() == nil {
		read(ctx)
		select {
		case <-ctx.Done():
		case <-ticker.C:
		}
	}
}
