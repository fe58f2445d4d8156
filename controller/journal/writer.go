package journal

import (
	"sync/atomic"
	"time"

	"anodized/controller/record"
)

const (
	flushAfter    = 900 * time.Millisecond // with the write itself, a row waits about a second
	retryAfter    = time.Second
	mostBatch     = 64   // rows of one batch; ten a second come in
	mostEntryRows = 1024 // rows of one transaction
)

// writer is the one goroutine that writes. It owns everything below.
type writer struct {
	store   store
	ring    *ring
	gauge   *gauge
	current *openRun
	shown   *atomic.Int64  // the number of the current run, for readers
	ready   *prepared      // written next, or tried again
	finish  *finishRequest // once everything else is written
	flushed []chan struct{}
	timer   *time.Timer
	armed   bool
	failed  bool // the last attempt failed: wait for the timer
}

// openRun is the run that is being written.
type openRun struct {
	id      int64
	batches uint32
	events  uint32
	hash    *contentHash
}

// prepared is an entry with the rows in it, for the hash.
type prepared struct {
	entry entry
	rows  []record.Row
}

// serve runs until stop is closed, then writes what is left once.
func (w *writer) serve(begins chan *beginRequest, finishes chan *finishRequest, flushes chan chan struct{}, stop chan struct{}) {
	w.timer = time.NewTimer(flushAfter)
	w.timer.Stop()
	for {
		select {
		case request := <-begins:
			w.finishWaiting(finishes)
			w.begin(request)
		case request := <-finishes:
			w.finishRun(request)
		case done := <-flushes:
			w.flushed = append(w.flushed, done)
			w.flush()
		case <-w.ring.wake:
			w.woken()
		case <-w.timer.C:
			w.armed = false
			w.flush()
		case <-stop:
			w.finishWaiting(finishes)
			w.flush()
			return
		}
	}
}

// finishWaiting finishes the run of a request that came while the disk stalled, whether
// somebody still waits for that or not: nothing begins before it, and nothing ends.
func (w *writer) finishWaiting(finishes chan *finishRequest) {
	select {
	case request := <-finishes:
		w.finishRun(request)
	default:
	}
}

func (w *writer) woken() {
	if rows, _ := w.ring.waiting(); rows >= hurryRows && !w.failed {
		w.flush()
		return
	}
	w.arm(flushAfter)
}

func (w *writer) arm(after time.Duration) {
	if !w.armed {
		w.timer.Reset(after)
		w.armed = true
	}
}

// flush writes everything there is, then finishes the run if that was asked. The
// first failure puts the rest off.
func (w *writer) flush() {
	w.timer.Stop()
	w.armed, w.failed = false, false
	for w.prepare() {
		if err := w.write(w.ready.entry); err != nil {
			w.failed = true
			w.arm(retryAfter)
			return
		}
		w.written()
	}
	for _, done := range w.flushed {
		close(done)
	}
	w.flushed = nil
}

func (w *writer) write(e entry) error {
	done := w.gauge.start()
	err := w.store.write(e)
	done(err)
	return err
}

func (w *writer) written() {
	if w.ready.entry.result != nil {
		w.setCurrent(nil)
		w.finish.answer <- nil
		w.finish = nil
	} else {
		w.current.hash.addRows(w.ready.rows)
		w.current.hash.addEvents(w.ready.entry.events)
		w.gauge.add(len(w.ready.rows))
	}
	w.ready = nil
}

func (w *writer) setCurrent(run *openRun) {
	w.current = run
	if run == nil {
		w.shown.Store(0)
		return
	}
	w.shown.Store(run.id)
}
