package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// Journal is the journal with its one writer. Its Reader sees what is on the disk.
type Journal struct {
	*Reader
	path     string
	status   Status
	options  Options
	lock     *os.File
	db       *sql.DB
	ring     *ring
	gauge    *gauge
	current  *atomic.Int64 // the open run; 0 for none
	closing  sync.Once
	begins   chan *beginRequest
	finishes chan *finishRequest
	flushes  chan chan struct{}
	unsound  atomic.Pointer[error] // what the weekly look at the whole file found
	endCheck context.CancelFunc
	checked  chan struct{} // closed when that look has ended
	stop     chan struct{}
	stopped  chan struct{}
}

// Options of Open; the zero value is the usual journal.
type Options struct {
	Now       func() time.Time // for the name of a file that is set aside; default time.Now
	LeastRoom uint64           // bytes that the disk must have free for a run to begin; default 64 MiB
	QueueRows int              // rows that may wait for the disk; default ten minutes of ticks
}

// The bounds of waiting.
const (
	intentWithin  = 5 * time.Second // Begin gives up after it
	closeWithin   = 5 * time.Second
	queueSeconds  = 600      // of rows wait for the disk
	simulatedRows = 200_000  // a simulation outruns the disk: 5.5 hours of it, 11 MB at most
	leastRoom     = 64 << 20 // bytes
	mostQueueRows = 20 * 60 * 60
)

// Begin returns the name of the run once its intent is durable. It waits at most
// 5 s for the disk. An intent that reaches the disk later than that is closed as
// refused.
func (j *Journal) Begin(ctx context.Context, in record.Intent) (string, error) {
	request, err := j.beginRequest(in)
	if err != nil {
		return "", err
	}
	ctx, cancel := context.WithTimeoutCause(ctx, intentWithin, errors.New("the disk took longer than 5 s"))
	defer cancel()
	select {
	case j.begins <- request:
	case <-j.stopped:
		return "", fmt.Errorf("beginning a run: %w", ErrClosed)
	case <-ctx.Done():
		return "", fmt.Errorf("%w: %w", ErrNotDurable, context.Cause(ctx))
	}
	return j.awaitIntent(ctx, request)
}

func (j *Journal) awaitIntent(ctx context.Context, request *beginRequest) (string, error) {
	select {
	case answer := <-request.answer:
		return runName(answer.run), answer.err
	case <-ctx.Done():
		if request.settle() {
			return "", fmt.Errorf("%w: %w", ErrNotDurable, context.Cause(ctx))
		}
		answer := <-request.answer
		return runName(answer.run), answer.err
	}
}

func (j *Journal) beginRequest(in record.Intent) (*beginRequest, error) {
	if err := j.mayBegin(); err != nil {
		return nil, err
	}
	intent, err := json.Marshal(in)
	if err != nil {
		return nil, fmt.Errorf("writing the intent of a run as JSON: %w", err)
	}
	late := record.Result{Outcome: record.Refused, Simulated: in.Simulated,
		Reasons: []string{"the disk took too long to keep the intent"}}
	return &beginRequest{intent: intent, refused: late, most: j.queueRows(in),
		answer: make(chan beginAnswer, 1)}, nil
}

func (j *Journal) queueRows(in record.Intent) int {
	switch {
	case j.options.QueueRows > 0:
		return j.options.QueueRows
	case in.Simulated:
		return simulatedRows
	case in.TickSeconds > 0:
		return int(min(max(queueSeconds/in.TickSeconds, 1), unit.Seconds(mostQueueRows)))
	}
	return queueSeconds * 10
}

// Append takes a row of the open run. It never blocks; where no run is open the
// row belongs to none and is not kept.
func (j *Journal) Append(row record.Row) { j.ring.append(row) }

// Note takes an event of the open run. It never blocks; where no run is open the
// event belongs to none and is not kept.
func (j *Journal) Note(ev record.Event) { j.ring.note(ev) }

// Finish writes what waits, then the result and the content hash, and closes the
// run. Where the disk stalls longer than ctx allows it is an error, but the run is
// closed as soon as the disk allows it.
func (j *Journal) Finish(ctx context.Context, res record.Result) error {
	request := &finishRequest{result: res, answer: make(chan error, 1)}
	select {
	case j.finishes <- request:
	case <-j.stopped:
		return fmt.Errorf("finishing a run: %w", ErrClosed)
	case <-ctx.Done():
		return fmt.Errorf("finishing a run: the disk is busy: %w", context.Cause(ctx))
	}
	select {
	case err := <-request.answer:
		return err
	case <-j.stopped:
		select {
		case err := <-request.answer: // it was written last of all
			return err
		default:
			return fmt.Errorf("finishing a run: %w, and the run%s", ErrClosed, j.gauge.because())
		}
	case <-ctx.Done():
		return fmt.Errorf("finishing a run: the record waits for the disk: %w", context.Cause(ctx))
	}
}

// Flush returns when every row and event taken so far is on the disk. A simulation
// that outruns the clock calls it now and then, so as not to outrun the disk.
func (j *Journal) Flush(ctx context.Context) error {
	done := make(chan struct{})
	select {
	case j.flushes <- done:
	case <-j.stopped:
		return fmt.Errorf("writing the record: %w", ErrClosed)
	case <-ctx.Done():
		return fmt.Errorf("writing the record: the disk is busy: %w", context.Cause(ctx))
	}
	select {
	case <-done:
		return nil
	case <-j.stopped:
		return fmt.Errorf("writing the record: %w", ErrClosed)
	case <-ctx.Done():
		return fmt.Errorf("writing the record: the disk does not take it: %w", context.Cause(ctx))
	}
}

func runName(run int64) string { return strconv.FormatInt(run, 10) }
