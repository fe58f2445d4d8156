package analog

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"anodized/hal"
)

// Longest is how long a call waits for its bus.
const Longest = 100 * time.Millisecond

// Lane is the goroutine that alone talks on one bus. A job is handed to it only when
// it is free, so that nothing waits in a queue and happens late; only the zero of a
// Halt is left at its door.
type Lane struct {
	name   string
	jobs   chan func()
	urgent chan func()
	quit   chan struct{}
	ended  chan struct{}
	once   sync.Once
}

// NewLane starts a lane. The name of its bus stands in errors.
func NewLane(name string) *Lane {
	l := &Lane{name: name, jobs: make(chan func()), urgent: make(chan func(), 4), quit: make(chan struct{}), ended: make(chan struct{})}
	go l.run()
	return l
}

func (l *Lane) run() {
	defer close(l.ended)
	for {
		select {
		case job := <-l.urgent:
			job()
			continue
		default:
		}
		select {
		case job := <-l.urgent:
			job()
		case job := <-l.jobs:
			job()
		case <-l.quit:
			return
		}
	}
}

// Close ends the lane. It is an error, after 100 ms, where the bus still holds it.
func (l *Lane) Close() error {
	l.once.Do(func() { close(l.quit) })
	timer := time.NewTimer(Longest)
	defer timer.Stop()
	select {
	case <-l.ended:
		return nil
	case <-timer.C:
		return fmt.Errorf("close the bus %s: %w: it is stuck", l.name, hal.ErrTimeout)
	}
}

var errClosed = errors.New("the bus is closed")

// outcome is what a job brought.
type outcome[T any] struct {
	value T
	err   error
}

// ask lets a lane do some work and waits for it, 100 ms at most. The work gets a
// context that ends with the waiting.
func ask[T any](ctx context.Context, l *Lane, work func(context.Context) (T, error)) (T, error) {
	limited, cancel := context.WithTimeout(ctx, Longest)
	defer cancel()
	job, done := prepare(limited, work)
	select {
	case <-l.ended:
		return *new(T), fmt.Errorf("bus %s: %w: %w", l.name, hal.ErrGone, errClosed)
	case <-limited.Done():
		return *new(T), l.late(ctx)
	case l.jobs <- job:
	}
	return await(ctx, limited, l, done)
}

// demand leaves work at a lane's door, to be done before any other, and is done
// even after the waiting for it has ended.
func demand[T any](l *Lane, work func(context.Context) (T, error)) <-chan outcome[T] {
	job, done := prepare(context.Background(), work)
	select {
	case <-l.ended: // nobody is left to open the door, so it must be asked first
		done <- outcome[T]{err: fmt.Errorf("bus %s: %w: %w", l.name, hal.ErrGone, errClosed)}
		return done
	default:
	}
	select {
	case l.urgent <- job:
	default: // the same work waits there already, several times
	}
	return done
}

func prepare[T any](ctx context.Context, work func(context.Context) (T, error)) (func(), chan outcome[T]) {
	done := make(chan outcome[T], 1)
	return func() {
		var o outcome[T]
		if o.err = ctx.Err(); o.err == nil {
			o.value, o.err = work(ctx)
		}
		done <- o
	}, done
}

func await[T any](ctx, limited context.Context, l *Lane, done <-chan outcome[T]) (T, error) {
	select {
	case o := <-done:
		if o.err != nil && limited.Err() != nil {
			return *new(T), l.late(ctx)
		}
		return o.value, o.err
	case <-limited.Done():
		return *new(T), l.late(ctx)
	}
}

// late says whether the caller or the bus ended the waiting.
func (l *Lane) late(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("bus %s: cut off: %w", l.name, err)
	}
	return fmt.Errorf("bus %s: %w: not within %v", l.name, hal.ErrTimeout, Longest)
}
