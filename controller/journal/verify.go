package journal

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"anodized/controller/record"
)

// Verification is what a look at every byte of the journal found.
type Verification struct {
	Runs     int       `json:"runs"`
	Verified int       `json:"verified"` // finished runs whose content has the hash that it was closed with
	Kept     Kept      `json:"kept"`     // beside the runs
	Open     []string  `json:"open"`     // runs that are not finished and so have no hash yet
	Problems []Problem `json:"problems"`
}

// Problem is something that is wrong in the journal; it is the file where neither a run
// nor an entry is named.
type Problem struct {
	Run     string `json:"run,omitempty"`
	Entry   string `json:"entry,omitempty"` // a calibration, a reading or an adopted area
	Message string `json:"message"`
}

// Verify checks the structure of the file, reads every run, and compares the
// content of each with the hash that was stored when it was closed.
func (r *Reader) Verify(ctx context.Context) (Verification, error) {
	found := Verification{Open: []string{}, Problems: []Problem{}}
	tx, err := r.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return found, wrap(r.path, err)
	}
	err = r.verify(ctx, tx, &found)
	return found, errors.Join(err, tx.Rollback())
}

func (r *Reader) verify(ctx context.Context, tx *sql.Tx, found *Verification) error {
	if err := found.blame(checkStructure(ctx, tx, found)); err != nil {
		return err
	}
	runs, err := r.everyRun(ctx, tx)
	if err := found.blame(err); err != nil {
		return err
	}
	for _, row := range runs {
		found.Runs++
		verifyRun(tx, row, found)
	}
	return found.blame(verifyShelves(tx, found))
}

// blame makes a problem of an error that is damage, and returns any other. Where a file of
// this version has not the tables and columns of it, its schema was changed.
func (v *Verification) blame(err error) error {
	var failure *sqlite.Error
	if damaged(err) || errors.As(err, &failure) && failure.Code()&0xff == sqlite3.SQLITE_ERROR {
		v.Problems = append(v.Problems, Problem{Message: err.Error()})
		return nil
	}
	return err
}

func checkStructure(ctx context.Context, tx *sql.Tx, found *Verification) (err error) {
	rows, err := tx.QueryContext(ctx, "PRAGMA integrity_check")
	if err != nil {
		return fmt.Errorf("checking the structure of the journal: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var verdict string
		if err := rows.Scan(&verdict); err != nil {
			return fmt.Errorf("checking the structure of the journal: %w", err)
		}
		if verdict != "ok" {
			found.Problems = append(found.Problems, Problem{Message: verdict})
		}
	}
	return rows.Err()
}

func (r *Reader) everyRun(ctx context.Context, tx *sql.Tx) (runs []stored, err error) {
	rows, err := tx.QueryContext(ctx, "SELECT id, intent, result, hash FROM run ORDER BY id")
	if err != nil {
		return nil, wrap(r.path, err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var row stored
		if err := rows.Scan(&row.id, &row.intent, &row.result, &row.hash); err != nil {
			return nil, wrap(r.path, err)
		}
		runs = append(runs, row)
	}
	if err := rows.Err(); err != nil {
		return nil, wrap(r.path, err)
	}
	return runs, nil
}

func verifyRun(tx *sql.Tx, row stored, found *Verification) {
	_, hash, err := row.hashed(tx)
	switch {
	case err != nil:
		found.Problems = append(found.Problems, Problem{Run: runName(row.id), Message: err.Error()})
	case row.result == nil:
		found.Open = append(found.Open, runName(row.id))
	case !bytes.Equal(hash.sum(row.result), row.hash):
		found.Problems = append(found.Problems, Problem{Run: runName(row.id), Message: "its content is not what it was closed with: the hash differs"})
	default:
		found.Verified++
	}
}

// hashed reads a run and hashes what it reads.
func (s stored) hashed(tx *sql.Tx) (record.Run, *contentHash, error) {
	run, err := s.whole(tx)
	if err != nil {
		return run, nil, err
	}
	hash := newContentHash(s.intent)
	hash.addRows(run.Rows)
	err = eachBlob(tx, selectEvents, s.id, func(body []byte) error {
		hash.addEvents([]blob{{body: body}})
		return nil
	})
	return run, hash, err
}
