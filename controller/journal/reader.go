package journal

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"anodized/controller/record"
)

// Running is the outcome of a run that is still going on.
const Running record.Outcome = "running"

// Reader reads a journal. It never changes it, and may be used by many at once.
type Reader struct {
	db      *sql.DB
	path    string
	running func() (int64, error) // the run that a living writer has open; 0 for none
}

// OpenReadOnly opens the journal to read, beside a writer or without one. Where
// there is none, the error is ErrNoJournal.
func OpenReadOnly(path string) (*Reader, error) {
	found, err := inspect(path)
	if err != nil && !errors.Is(err, errUnmade) {
		return nil, err
	}
	if !found {
		return nil, fmt.Errorf("%s: %w", path, ErrNoJournal)
	}
	db, err := openReader(path)
	if err != nil {
		return nil, err
	}
	r := &Reader{db: db, path: path}
	r.running = r.runningElsewhere
	return r, nil
}

// Close lets the file go.
func (r *Reader) Close() error { return r.db.Close() }

// runningElsewhere: a living writer may have the newest run open, no other.
func (r *Reader) runningElsewhere() (int64, error) {
	held, err := lockHeld(r.path)
	if err != nil || !held {
		return 0, err
	}
	var newest int64
	if err := r.db.QueryRow("SELECT coalesce(max(id), 0) FROM run").Scan(&newest); err != nil {
		return 0, wrap(r.path, err)
	}
	return newest, nil
}

// stored is a run as it is in the file.
type stored struct {
	id     int64
	intent []byte
	result []byte
	hash   []byte
}

// Run gives a run back, by its number or as "last". What was never finished has
// the outcome interrupted, or running while its writer lives. A finished run whose
// content is not what it was closed with is ErrDamaged.
func (r *Reader) Run(name string) (record.Run, error) {
	running, err := r.running()
	if err != nil {
		return record.Run{}, err
	}
	tx, err := r.db.BeginTx(context.Background(), &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return record.Run{}, wrap(r.path, err)
	}
	run, err := r.read(tx, name, running)
	return run, errors.Join(err, tx.Rollback())
}

func (r *Reader) read(tx *sql.Tx, name string, running int64) (record.Run, error) {
	row, err := r.find(tx, name)
	if err != nil {
		return record.Run{}, err
	}
	run, hash, err := row.hashed(tx)
	if err != nil {
		return record.Run{}, wrap(r.path, err)
	}
	if row.result != nil && !bytes.Equal(hash.sum(row.result), row.hash) {
		return record.Run{}, fmt.Errorf("%s: %w: run %d is not what it was closed with: the hash differs", r.path, ErrDamaged, row.id)
	}
	if row.result == nil {
		run.Result = unfinished(run, row.id == running)
	}
	return run, nil
}

// whole reads the samples and events of a run, too.
func (s stored) whole(tx *sql.Tx) (record.Run, error) {
	run := record.Run{ID: runName(s.id)}
	if err := json.Unmarshal(s.intent, &run.Intent); err != nil {
		return run, fmt.Errorf("%w: the intent of run %d: %w", ErrDamaged, s.id, err)
	}
	if s.result != nil {
		if err := json.Unmarshal(s.result, &run.Result); err != nil {
			return run, fmt.Errorf("%w: the result of run %d: %w", ErrDamaged, s.id, err)
		}
	}
	err := eachBlob(tx, "SELECT id, batch FROM sample WHERE id BETWEEN ? AND ? ORDER BY id", s.id, func(body []byte) error {
		rows, err := decodeBatch(body)
		run.Rows = append(run.Rows, rows...)
		return err
	})
	if err != nil {
		return run, fmt.Errorf("the samples of run %d: %w", s.id, err)
	}
	err = eachBlob(tx, selectEvents, s.id, func(body []byte) error {
		var ev record.Event
		run.Events = append(run.Events, ev)
		return json.Unmarshal(body, &run.Events[len(run.Events)-1])
	})
	if err != nil {
		return run, fmt.Errorf("the events of run %d: %w", s.id, err)
	}
	return run, nil
}

const selectEvents = "SELECT id, body FROM event WHERE id BETWEEN ? AND ? ORDER BY id"

// eachBlob gives the rows of one run in order, and sees that none is missing.
func eachBlob(tx *sql.Tx, question string, run int64, use func([]byte) error) (err error) {
	found, err := tx.Query(question, rowID(run, 0), rowID(run, 1<<32-1))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, found.Close()) }()
	for expected := rowID(run, 0); found.Next(); expected++ {
		var id int64
		var body []byte
		if err := found.Scan(&id, &body); err != nil {
			return err
		}
		if id != expected {
			return fmt.Errorf("%w: number %d is missing", ErrDamaged, expected&(1<<32-1))
		}
		if err := use(body); err != nil {
			return fmt.Errorf("%w: number %d: %w", ErrDamaged, id&(1<<32-1), err)
		}
	}
	return found.Err()
}
