package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/controller/replay"
)

// closeInterrupted closes the runs that nobody finished, with their last known
// state. Their rows stay as they are.
func (j *Journal) closeInterrupted() error {
	open, err := j.openRuns()
	if err != nil {
		return err
	}
	for _, run := range open {
		e, err := j.interruption(run)
		if errors.Is(err, ErrDamaged) {
			j.status.Unreadable = append(j.status.Unreadable, runName(run.id))
			continue
		}
		if err != nil {
			return err
		}
		if err := (disk{j.db}).write(e); err != nil {
			return fmt.Errorf("closing a run that was interrupted: %w", err)
		}
		j.status.Closed = append(j.status.Closed, runName(run.id))
	}
	return nil
}

func (r *Reader) openRuns() (open []stored, err error) {
	found, err := r.db.Query("SELECT id, intent FROM run WHERE result IS NULL ORDER BY id")
	if err != nil {
		return nil, wrap(r.path, err)
	}
	defer func() { err = errors.Join(err, found.Close()) }()
	for found.Next() {
		var run stored
		if err := found.Scan(&run.id, &run.intent); err != nil {
			return nil, wrap(r.path, err)
		}
		open = append(open, run)
	}
	return open, found.Err()
}

func (j *Journal) interruption(row stored) (entry, error) {
	tx, err := j.Reader.db.BeginTx(context.Background(), &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return entry{}, wrap(j.path, err)
	}
	run, hash, err := row.hashed(tx)
	if err := errors.Join(err, tx.Rollback()); err != nil {
		return entry{}, wrap(j.path, err)
	}
	body, err := encodeResult(unfinished(run, false), run.ID)
	if err != nil {
		return entry{}, err
	}
	return entry{run: row.id, result: body, hash: hash.sum(body)}, nil
}

// unfinished is the result of a run that nobody finished, or nobody yet: the numbers
// that its rows give to the code that watched it, and null for the rest.
func unfinished(run record.Run, running bool) record.Result {
	result := record.Result{Event: "result", Run: run.ID, Outcome: record.Interrupted, Simulated: run.Intent.Simulated,
		TargetVolts: record.Known(run.Intent.Plan.TargetVolts), DeclaredArea: record.Known(run.Intent.Plan.Area)}
	seen := replay.OfRun(run)
	over, answer := stoppedBefore(run)
	switch {
	case running:
		result.Outcome = Running
	case over:
		stopped(&result, run, answer)
		seen.Close(record.Stopped, result.ByEye)
	case seen.Seen:
		seen.Close(record.Interrupted, false)
	}
	if seen.Seen {
		result.Fill(seen.Watch.Summary())
	}
	result.Findings = replay.Merge(seen.Findings(), toldFindings(run.Events))
	if result.Outcome == record.Interrupted {
		advise(&result)
	}
	return result
}

// toldFindings are the findings that the run told of before it was cut off.
func toldFindings(events []record.Event) (told []fault.Finding) {
	for _, event := range events {
		if event.Finding != nil {
			told = append(told, *event.Finding)
		}
	}
	return told
}
