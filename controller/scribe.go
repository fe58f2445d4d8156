package controller

import (
	"context"
	"fmt"
	"log/slog"
	"sync/atomic"
	"time"

	"anodized/controller/fault"
	"anodized/controller/record"
)

// scribe is the goroutine between the owner and the recorder: what a recorder does
// or fails to do, the owner goes on. Everything of one run passes it in order:
// intent, rows and notes, result.
type scribe struct {
	recorder Recorder
	log      *slog.Logger
	queue    chan entry
	wait     time.Duration // how long the disk may take to begin or finish
	dropped  atomic.Uint64
	ended    chan struct{}
}

// entry is a row, unless one of its pointers is set.
type entry struct {
	row    record.Row
	note   *record.Event
	begin  *beginning
	finish *finishing
}

// beginning is a run that waits for its intent to be durable. Either the owner
// gives it up or the scribe answers it, never both.
type beginning struct {
	intent  record.Intent
	settled atomic.Bool
	done    chan begun // capacity one
}

// giveUp tells whether nobody will answer any more.
func (b *beginning) giveUp() bool { return b.settled.CompareAndSwap(false, true) }

// answer tells whether somebody still wants it.
func (b *beginning) answer(with begun) bool {
	if !b.settled.CompareAndSwap(false, true) {
		return false
	}
	b.done <- with
	return true
}

type begun struct {
	run string
	err error
}

// finishing is a run that waits for its result to be durable.
type finishing struct {
	result record.Result
	done   chan error // capacity one
}

func newScribe(recorder Recorder, log *slog.Logger, rows int, wait time.Duration) *scribe {
	return &scribe{recorder: recorder, log: log, queue: make(chan entry, rows), wait: wait, ended: make(chan struct{})}
}

// run writes until the queue is closed.
func (s *scribe) run() {
	defer close(s.ended)
	for next := range s.queue {
		switch {
		case next.note != nil:
			s.recorder.Note(*next.note)
		case next.begin != nil:
			s.begin(next.begin)
		case next.finish != nil:
			next.finish.done <- s.finish(next.finish.result)
		default:
			s.recorder.Append(next.row)
		}
	}
}

// begin writes an intent. One that comes to the disk after the start was given up
// is closed at once, so that no run stands open that never was.
func (s *scribe) begin(one *beginning) {
	if one.settled.Load() {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), s.wait)
	defer cancel()
	run, err := s.recorder.Begin(ctx, one.intent)
	if one.answer(begun{run, err}) || err != nil {
		return
	}
	late := record.Result{Event: "result", Run: run, Outcome: record.Refused, Simulated: one.intent.Simulated,
		Reasons: []string{"the intent came to the disk too late"}, Findings: []fault.Finding{}}
	if err := s.finish(late); err != nil {
		s.log.Error("a run that never was stays open in the journal", "run", run, "error", err)
	}
}

func (s *scribe) finish(res record.Result) error {
	ctx, cancel := context.WithTimeout(context.Background(), s.wait)
	defer cancel()
	return s.recorder.Finish(ctx, res)
}

// put queues an entry and never waits. It tells whether there was room.
func (s *scribe) put(one entry) bool {
	select {
	case s.queue <- one:
		return true
	default:
		s.dropped.Add(1)
		return false
	}
}

// putPatiently waits for room: for a simulated clock, which stands still
// meanwhile, and for the last words of a Station whose output is off.
func (s *scribe) putPatiently(ctx context.Context, one entry) bool {
	select {
	case s.queue <- one:
		return true
	default:
	}
	select {
	case s.queue <- one:
		return true
	case <-ctx.Done():
		s.dropped.Add(1)
		return false
	}
}

// close ends the goroutine once the queue is empty and waits for it, at most this long.
func (s *scribe) close(patience time.Duration) error {
	close(s.queue)
	select {
	case <-s.ended:
		return nil
	case <-time.After(patience):
		return fmt.Errorf("close the record: the journal did not take it within %v", patience)
	}
}
