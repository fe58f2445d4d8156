package journal

import (
	"database/sql"
	"errors"
	"fmt"
)

// store is what the writer needs of the disk; a test puts a failing one there.
// Each call is one transaction, durable when it returns without error. Writing
// the same entry again changes nothing, so what may have failed is tried again.
type store interface {
	begin(intent []byte) (run int64, err error)
	write(e entry) error
}

// entry is what one transaction writes of a run.
type entry struct {
	run     int64
	batches []blob
	events  []blob
	result  []byte // nil while the run goes on
	hash    []byte
}

// blob is one row of the tables sample and event: its number in the run, its body.
type blob struct {
	number uint32
	body   []byte
}

func rowID(run int64, number uint32) int64 { return run<<32 | int64(number) }

// disk is the store on SQLite.
type disk struct{ db *sql.DB }

func (d disk) begin(intent []byte) (int64, error) {
	var run int64
	err := d.transact(func(tx *sql.Tx) error {
		const insert = `INSERT INTO run (id, intent) VALUES ((SELECT coalesce(max(id), 0) + 1 FROM run), ?) RETURNING id`
		return tx.QueryRow(insert, intent).Scan(&run)
	})
	if err != nil {
		return 0, fmt.Errorf("writing the intent of a run: %w", err)
	}
	return run, nil
}

func (d disk) write(e entry) error {
	err := d.transact(func(tx *sql.Tx) error {
		if err := insertBlobs(tx, "INSERT OR REPLACE INTO sample (id, batch) VALUES (?, ?)", e.run, e.batches); err != nil {
			return err
		}
		if err := insertBlobs(tx, "INSERT OR REPLACE INTO event (id, body) VALUES (?, ?)", e.run, e.events); err != nil {
			return err
		}
		if e.result == nil {
			return nil
		}
		_, err := tx.Exec("UPDATE run SET result = ?, hash = ? WHERE id = ?", e.result, e.hash, e.run)
		return err
	})
	if err != nil {
		return fmt.Errorf("writing run %d: %w", e.run, err)
	}
	return nil
}

func insertBlobs(tx *sql.Tx, insert string, run int64, blobs []blob) error {
	if len(blobs) == 0 {
		return nil
	}
	statement, err := tx.Prepare(insert)
	if err != nil {
		return err
	}
	for _, b := range blobs {
		if _, err := statement.Exec(rowID(run, b.number), b.body); err != nil {
			return errors.Join(err, statement.Close())
		}
	}
	return statement.Close()
}

func (d disk) transact(work func(*sql.Tx) error) error {
	tx, err := d.db.Begin()
	if err != nil {
		return err
	}
	if err := work(tx); err != nil {
		if undo := tx.Rollback(); undo != nil && !errors.Is(undo, sql.ErrTxDone) {
			return errors.Join(err, undo)
		}
		return err
	}
	return tx.Commit()
}
