package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// longestGap is how far apart two rows may be for the charge between them to be known.
const longestGap unit.Seconds = 0.5

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

func (j *Journal) openRuns() (open []stored, err error) {
	found, err := j.db.Query("SELECT id, intent FROM run WHERE result IS NULL ORDER BY id")
	if err != nil {
		return nil, wrap(j.path, err)
	}
	defer func() { err = errors.Join(err, found.Close()) }()
	for found.Next() {
		var run stored
		if err := found.Scan(&run.id, &run.intent); err != nil {
			return nil, wrap(j.path, err)
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
	body, err := encodeResult(interrupted(run), run.ID)
	if err != nil {
		return entry{}, err
	}
	return entry{run: row.id, result: body, hash: hash.sum(body)}, nil
}

// interrupted is the result of a run that nobody finished: what its rows say, by
// plain arithmetic, and null for the rest.
func interrupted(run record.Run) record.Result {
	result := record.Result{Event: "result", Run: run.ID, Outcome: record.Interrupted,
		Simulated: run.Intent.Simulated, Findings: []fault.Finding{}}
	area := run.Intent.Plan.Area
	result.TargetVolts = record.Known(run.Intent.Plan.TargetVolts)
	result.DeclaredArea = record.Known(area)
	last, ok := lastReading(run.Rows)
	if !ok {
		return result
	}
	result.EndVolts = record.Known(last.Volts)
	result.EndCurrent = record.Known(last.Amperes)
	result.EnergisedSeconds = record.Known(max(last.T, 0))
	if area > 0 {
		result.EndDensity = record.Known(last.Amperes.Over(area))
	}
	if charge, ok := charge(run.Rows); ok {
		result.Charge = record.Known(charge)
		result.ThicknessByCharge = thickness(run.Intent, charge)
	}
	return result
}

func lastReading(rows []record.Row) (record.Row, bool) {
	for i := len(rows) - 1; i >= 0; i-- {
		if isNumber(float64(rows[i].Volts)) && isNumber(float64(rows[i].Amperes)) {
			return rows[i], true
		}
	}
	return record.Row{}, false
}

// charge is the integral of the current by the trapezoid rule; false where the
// readings have a gap, because nobody knows what flowed in it.
func charge(rows []record.Row) (unit.Coulombs, bool) {
	var sum float64
	var before *record.Row
	for i := range rows {
		row := &rows[i]
		if row.T < 0 || !isNumber(float64(row.Amperes)) {
			continue
		}
		if before != nil {
			if row.T-before.T > longestGap {
				return 0, false
			}
			sum += float64(row.T-before.T) * float64(row.Amperes+before.Amperes) / 2
		}
		before = row
	}
	return unit.Coulombs(sum), before != nil
}

// thickness is the film by Faraday's law on the declared area, over the native one.
func thickness(in record.Intent, charge unit.Coulombs) *float64 {
	law := in.Plan.Law
	if in.Plan.Area <= 0 || law.KF <= 0 || law.Efficiency <= 0 {
		return nil
	}
	grown := law.Efficiency * law.KF * float64(charge) / float64(in.Plan.Area)
	return record.Known(law.NativeFilm + unit.Nanometres(grown))
}

func isNumber(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
