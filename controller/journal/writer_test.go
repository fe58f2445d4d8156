package journal

import (
	"context"
	"errors"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
	"anodized/hal/unit"
)

// memory is a store that keeps what the disk would, and fails or stalls on demand.
type memory struct {
	mu      sync.Mutex
	fail    error
	stall   chan struct{} // closed when the stall is over
	runs    int64
	writes  int
	samples map[uint32][]byte
	events  map[uint32][]byte
	results map[int64][]byte
}

func (m *memory) wait() error {
	m.mu.Lock()
	stall := m.stall
	m.mu.Unlock()
	if stall != nil {
		<-stall
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.fail
}

func (m *memory) set(fail error, stall chan struct{}) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.fail, m.stall = fail, stall
}

func (m *memory) begin([]byte) (int64, error) {
	if err := m.wait(); err != nil {
		return 0, err
	}
	m.runs++
	return m.runs, nil
}

func (m *memory) write(e entry) error {
	if err := m.wait(); err != nil {
		return err
	}
	m.writes++
	for _, b := range e.batches {
		m.samples[b.number] = b.body
	}
	for _, b := range e.events {
		m.events[b.number] = b.body
	}
	if e.result != nil {
		m.results[e.run] = e.result
	}
	return nil
}

func (m *memory) rows(t *testing.T) []record.Row {
	t.Helper()
	var rows []record.Row
	for i := range uint32(len(m.samples)) {
		batch, err := decodeBatch(m.samples[i])
		require.NoError(t, err)
		rows = append(rows, batch...)
	}
	return rows
}

// inMemory runs a test of the writer in simulated time.
func inMemory(t *testing.T, options Options, test func(*testing.T, *Journal, *memory)) {
	directory := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		store := &memory{samples: map[uint32][]byte{}, events: map[uint32][]byte{}, results: map[int64][]byte{}}
		j := newJournal(filepath.Join(directory, "journal.db"), options, nil, nil, nil, Status{})
		j.path = directory
		j.begin(store)
		test(t, j, store)
		close(j.stop)
		<-j.stopped
	})
}

// pass lets simulated time pass.
func pass(d time.Duration) { <-time.After(d) }

func TestAtMostASecondIsAtRisk(t *testing.T) {
	inMemory(t, Options{}, func(t *testing.T, j *Journal, store *memory) {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		const seconds = 60
		for tick, row := range sampleRows(0, 10*seconds) {
			j.Append(row)
			pass(100 * time.Millisecond)
			synctest.Wait()
			assert.LessOrEqual(t, tick+1-len(store.rows(t)), 10, "rows that a power cut would take")
		}
		assert.LessOrEqual(t, store.writes, seconds*10/9+1, "transactions")
		assert.LessOrEqual(t, j.Health().QueueRows, 10)
	})
}

func TestAppendNeverWaitsForAStalledDisk(t *testing.T) {
	inMemory(t, Options{QueueRows: 600}, func(t *testing.T, j *Journal, store *memory) {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		stall := make(chan struct{})
		store.set(nil, stall)
		rows := sampleRows(0, 2000)
		appendAll(j, rows[:10])
		pass(time.Second) // the writer is in the stall now, with ten rows
		synctest.Wait()
		before := time.Now()
		appendAll(j, rows[10:])
		j.Note(record.Event{T: 200, Kind: "state", Code: "holding"})
		assert.Equal(t, before, time.Now())
		pass(30 * time.Second)
		health := j.Health()
		assert.Equal(t, 600, health.QueueRows)
		assert.Equal(t, int64(1390), health.Dropped)
		assert.InDelta(t, 30, health.LastWriteSeconds, 1.5)

		close(stall)
		require.NoError(t, j.Flush(t.Context()))
		requireRows(t, append(append([]record.Row{}, rows[:10]...), rows[1400:]...), store.rows(t))
		assert.Contains(t, string(store.events[0]), "holding")
		assert.Contains(t, string(store.events[1]), `"code":"rows-dropped","text":"1390 rows from 1.0 s to 139.9 s are missing`)
	})
}

func TestFullDiskLosesNothingThatTheQueueHolds(t *testing.T) {
	inMemory(t, Options{}, func(t *testing.T, j *Journal, store *memory) {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		store.set(errors.New("no space left"), nil)
		rows := sampleRows(0, 3000)
		for _, row := range rows {
			j.Append(row)
			pass(100 * time.Millisecond)
		}
		assert.Contains(t, j.Health().LastError, "no space left")
		short, cancel := context.WithTimeout(t.Context(), 3*time.Second)
		defer cancel()
		require.ErrorIs(t, j.Finish(short, sampleResult()), context.DeadlineExceeded)
		_, err = j.Begin(t.Context(), sampleIntent())
		require.ErrorIs(t, err, ErrRunOpen)
		require.ErrorContains(t, err, "no space left")

		store.set(nil, nil)
		pass(2 * time.Second)
		synctest.Wait()
		requireRows(t, rows, store.rows(t))
		assert.Contains(t, string(store.results[1]), `"outcome":"complete"`)
		assert.Empty(t, j.Health().LastError)
		assert.Zero(t, j.Health().Dropped)
		_, err = j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
	})
}

// A result that comes while a write hangs is not lost with the patience of who brought it:
// the run is closed once the disk is back, and the next one begins.
func TestResultThatTheStalledDiskDidNotTakeIsWrittenLater(t *testing.T) {
	inMemory(t, Options{}, func(t *testing.T, j *Journal, store *memory) {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		stall := make(chan struct{})
		store.set(nil, stall)
		rows := sampleRows(0, 20)
		appendAll(j, rows)
		pass(time.Second) // the writer is in the stall now
		short, cancel := context.WithTimeout(t.Context(), 5*time.Second)
		defer cancel()
		require.ErrorIs(t, j.Finish(short, sampleResult()), context.DeadlineExceeded)

		close(stall)
		name, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		assert.Equal(t, "2", name)
		assert.Contains(t, string(store.results[1]), `"outcome":"complete"`)
		requireRows(t, rows, store.rows(t))
	})
}

func TestBeginGivesUpAfterFiveSecondsAndTheLateIntentIsRefused(t *testing.T) {
	inMemory(t, Options{}, func(t *testing.T, j *Journal, store *memory) {
		stall := make(chan struct{})
		store.set(nil, stall)
		before := time.Now()
		_, err := j.Begin(t.Context(), sampleIntent())
		require.ErrorIs(t, err, ErrNotDurable)
		require.ErrorContains(t, err, "longer than 5 s")
		assert.Equal(t, 5*time.Second, time.Since(before))
		_, err = j.Begin(t.Context(), sampleIntent()) // the writer is still stalled
		require.ErrorIs(t, err, ErrNotDurable)

		close(stall)
		synctest.Wait()
		assert.Equal(t, int64(1), store.runs, "the second request never reached the disk")
		assert.Contains(t, string(store.results[1]), `"outcome":"refused"`)
		name, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		assert.Equal(t, "2", name)
	})
}

func TestBeginSaysWhyTheDiskRefused(t *testing.T) {
	inMemory(t, Options{}, func(t *testing.T, j *Journal, store *memory) {
		store.set(errors.New("read-only file system"), nil)
		_, err := j.Begin(t.Context(), sampleIntent())
		require.ErrorIs(t, err, ErrNotDurable)
		require.ErrorContains(t, err, "read-only file system")
	})
}

func TestEventThatJSONCannotSayLeavesANote(t *testing.T) {
	inMemory(t, Options{}, func(t *testing.T, j *Journal, store *memory) {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		zero := 0.0
		j.Note(record.Event{T: unit.Seconds(zero / zero), Kind: "finding"})
		j.Note(record.Event{T: 1, Kind: "note"})
		require.NoError(t, j.Flush(t.Context()))
		assert.Len(t, store.events, 2)
		assert.Contains(t, string(store.events[1]), `"code":"record-gap","text":"1 events are missing`)
	})
}

func TestFloodOfEventsIsBounded(t *testing.T) {
	inMemory(t, Options{}, func(t *testing.T, j *Journal, store *memory) {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		store.set(errors.New("no"), nil)
		for range mostEvents + 7 {
			j.Note(record.Event{Kind: "warning"})
		}
		store.set(nil, nil)
		require.NoError(t, j.Flush(t.Context()))
		assert.Len(t, store.events, mostEvents+1)
		assert.Contains(t, string(store.events[mostEvents]), "7 events are missing")
	})
}

func TestSimulationThatOutrunsTheClockIsWrittenInGoodTime(t *testing.T) {
	inMemory(t, Options{}, func(t *testing.T, j *Journal, store *memory) {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		before := time.Now()
		appendAll(j, sampleRows(0, hurryRows))
		synctest.Wait()
		assert.Equal(t, before, time.Now())
		assert.Len(t, store.rows(t), hurryRows)
	})
}
