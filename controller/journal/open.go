package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"
)

// Status is what Open found.
type Status struct {
	Migrated   Migration // from an older version of the tables; zero for none
	SetAside   string    // where a damaged journal was put; empty where it was sound
	Why        string    // what was wrong with it
	Closed     []string  // runs that were found open and are closed as interrupted now
	Unreadable []string  // runs that were found open and cannot be read
	Waiting    string    // the journal that was set aside, now or before, until a person acknowledges that: no run begins
}

// Open opens the journal to write, and makes one where there is none: directories
// for the owner alone, and so the file. A second writer is ErrInUse, a newer file
// ErrNewerSchema, another program's ErrForeign. A damaged file is set aside, a new
// one begun, and Status says so.
func Open(path string, options Options) (*Journal, error) {
	if err := makeDirectory(path); err != nil {
		return nil, err
	}
	lock, err := takeLock(path)
	if err != nil {
		return nil, err
	}
	journal, err := openLocked(path, options.withDefaults(), lock)
	if err != nil {
		return nil, errors.Join(err, lock.Close())
	}
	return journal, nil
}

func (o Options) withDefaults() Options {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.LeastRoom == 0 {
		o.LeastRoom = leastRoom
	}
	return o
}

func openLocked(path string, options Options, lock *os.File) (*Journal, error) {
	var status Status
	db, err := openUnsuspected(path, &status)
	if damaged(err) {
		status.Why = err.Error()
		if status.SetAside, err = setAside(path, status.Why, options.Now()); err != nil {
			return nil, err
		}
		if err := forgetSuspicion(path); err != nil {
			return nil, err
		}
		db, err = openSound(path, &status)
	}
	if err != nil {
		return nil, err
	}
	if status.Waiting, err = Unacknowledged(path); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	readers, err := openReader(path)
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	journal := newJournal(path, options, lock, db, readers, status)
	if err := journal.closeInterrupted(); err != nil {
		return nil, errors.Join(err, readers.Close(), db.Close())
	}
	journal.begin(disk{db})
	ctx, cancel := context.WithCancel(context.Background())
	journal.endCheck = cancel
	go journal.checkWeekly(ctx)
	return journal, nil
}

// openUnsuspected opens a journal in which no whole look found damage.
func openUnsuspected(path string, status *Status) (*sql.DB, error) {
	if err := suspected(path); err != nil {
		return nil, err
	}
	if emptied(path) {
		return nil, fmt.Errorf("%s: %w: the file is empty, and was a journal once", path, ErrDamaged)
	}
	return openSound(path, status)
}

// openSound opens a journal that has been looked over, or begins one. One of an older
// version is brought to the present one.
func openSound(path string, status *Status) (*sql.DB, error) {
	work := checkSound(leftOpen(path)) // before a connection begins a log of its own
	found, err := inspect(path)
	if errors.Is(err, errUnmade) {
		if err := undoMaking(path); err != nil {
			return nil, err
		}
		found, err = inspect(path) // which may be another program's file after all
	}
	if err != nil {
		return nil, err
	}
	if !found {
		if err := makeFile(path); err != nil {
			return nil, err
		}
	}
	db, err := openWriter(path)
	if err != nil {
		return nil, err
	}
	if !found {
		work = createAndNote
	}
	err = work(db, path)
	if err == nil {
		err = checkColumns(db, path)
	}
	if err == nil {
		status.Migrated, err = migrate(db, path)
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// undoMaking lets the database undo a transaction that was cut off, and changes nothing
// else: the file may be another program's.
func undoMaking(path string) error {
	db, err := sql.Open("sqlite", dataSource(path, url.Values{"mode": {"rw"}}))
	if err != nil {
		return fmt.Errorf("undoing the making of the journal %s: %w", path, err)
	}
	var objects int
	err = db.QueryRow("SELECT count(*) FROM sqlite_schema").Scan(&objects)
	if err := errors.Join(err, db.Close()); err != nil {
		return wrap(path, err)
	}
	return nil
}

func newJournal(path string, options Options, lock *os.File, db, readers *sql.DB, status Status) *Journal {
	j := &Journal{path: path, status: status, options: options, lock: lock, db: db,
		ring: newRing(), gauge: &gauge{}, current: &atomic.Int64{},
		begins: make(chan *beginRequest), finishes: make(chan *finishRequest, 1), flushes: make(chan chan struct{}),
		stop: make(chan struct{}), stopped: make(chan struct{}), checked: make(chan struct{})}
	j.Reader = &Reader{db: readers, path: path, running: func() (int64, error) { return j.current.Load(), nil }}
	return j
}

// begin starts the writer.
func (j *Journal) begin(to store) {
	w := &writer{store: to, ring: j.ring, gauge: j.gauge, shown: j.current}
	go func() {
		defer close(j.stopped)
		w.serve(j.begins, j.finishes, j.flushes, j.stop)
	}()
}

// createAndNote begins a journal. A new one needs no look for a week.
func createAndNote(db *sql.DB, path string) error {
	if err := createTables(db, path); err != nil {
		return err
	}
	return noteChecked(path, time.Now())
}

// Status is what Open found.
func (j *Journal) Status() Status { return j.status }

// Close writes what waits, folds the log into the file and lets the next writer
// in. A run that is open stays so, and is interrupted for whoever opens next.
func (j *Journal) Close() error {
	var err error
	j.closing.Do(func() { err = j.close() })
	return err
}

func (j *Journal) close() error {
	j.endCheck()
	close(j.stop)
	patience := time.NewTimer(closeWithin)
	defer patience.Stop()
	for _, ended := range []chan struct{}{j.stopped, j.checked} {
		select {
		case <-ended:
		case <-patience.C:
			return fmt.Errorf("closing the journal %s: the disk does not take the rest%s", j.path, j.gauge.because())
		}
	}
	_, err := j.db.Exec("PRAGMA wal_checkpoint(PASSIVE)")
	return errors.Join(err, j.Reader.Close(), j.db.Close(), j.lock.Close())
}

func makeDirectory(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("making the directory of the journal: %w", err)
	}
	return nil
}

// makeFile makes the empty file, for the owner alone, and its name durable.
func makeFile(path string) error {
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return fmt.Errorf("making the journal: %w", err)
	}
	if err := file.Close(); err != nil {
		return fmt.Errorf("making the journal: %w", err)
	}
	return syncDirectory(path)
}
