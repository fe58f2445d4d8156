package journal

import (
	"encoding/json"
	"fmt"
	"sync/atomic"

	"anodized/controller/record"
)

// beginRequest asks the writer to write an intent. Who asks may lose patience; the
// first of the two to settle it has its way.
type beginRequest struct {
	intent  []byte
	refused record.Result // the end of the run, should nobody wait when the intent is written
	most    int           // rows that the ring may hold
	settled atomic.Bool
	answer  chan beginAnswer
}

type beginAnswer struct {
	run int64
	err error
}

func (r *beginRequest) settle() bool { return r.settled.CompareAndSwap(false, true) }

type finishRequest struct {
	result record.Result
	body   []byte // the result as JSON, once it is accepted
	answer chan error
}

func (w *writer) begin(request *beginRequest) {
	run, err := w.beginRun(request)
	if request.settle() {
		if err == nil {
			w.ring.open(request.most)
		}
		request.answer <- beginAnswer{run, err}
		return
	}
	if err == nil { // too late: the run never was, and says so
		w.finishRun(&finishRequest{result: request.refused, answer: make(chan error, 1)})
	}
}

func (w *writer) beginRun(request *beginRequest) (int64, error) {
	if request.settled.Load() {
		return 0, ErrNotDurable
	}
	if w.current != nil {
		return 0, fmt.Errorf("beginning a run: %w: run %s%s", ErrRunOpen, runName(w.current.id), w.gauge.because())
	}
	done := w.gauge.start()
	run, err := w.store.begin(request.intent)
	done(err)
	if err != nil {
		return 0, fmt.Errorf("%w: %w", ErrNotDurable, err)
	}
	w.setCurrent(&openRun{id: run, hash: newContentHash(request.intent)})
	return run, nil
}

func (w *writer) finishRun(request *finishRequest) {
	if err := w.accept(request); err != nil {
		request.answer <- fmt.Errorf("finishing a run: %w", err)
		return
	}
	w.ring.shut()
	w.finish = request
	w.flush()
}

func (w *writer) accept(request *finishRequest) error {
	switch {
	case w.current == nil:
		return ErrNoOpenRun
	case w.finish != nil:
		return fmt.Errorf("run %s is being finished already", runName(w.current.id))
	case request.result.Run != "" && request.result.Run != runName(w.current.id):
		return fmt.Errorf("run %s is the open one, not %q", runName(w.current.id), request.result.Run)
	}
	body, err := encodeResult(request.result, runName(w.current.id))
	request.body = body
	return err
}

func encodeResult(result record.Result, run string) ([]byte, error) {
	result.Event, result.Run = "result", run
	body, err := json.Marshal(result)
	if err != nil {
		return nil, fmt.Errorf("writing the result of run %s as JSON: %w", run, err)
	}
	return body, nil
}
