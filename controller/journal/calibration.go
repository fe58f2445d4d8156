package journal

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"anodized/controller/record"
	"anodized/profiles"
)

// Calibrations are those that the journal keeps, the newest first. One that is not what
// was written is ErrDamaged, for all of them: which of the rest counts would be a guess.
func (r *Reader) Calibrations() ([]record.KeptCalibration, error) {
	all, err := of[record.KeptCalibration](r, calibrationShelf, "")
	slices.Reverse(all)
	return all, err
}

// Calibration is the one with this id; ErrNotKept where there is none.
func (r *Reader) Calibration(id string) (record.KeptCalibration, error) {
	all, err := of[record.KeptCalibration](r, calibrationShelf, id)
	if err == nil && len(all) == 0 {
		err = fmt.Errorf("calibration %q: %w", id, ErrNotKept)
	}
	if err != nil {
		return record.KeptCalibration{}, err
	}
	return all[0], nil
}

// SaveCalibration keeps a calibration, durably. It is never overwritten: an id that is
// known already, here or embedded, is ErrKept. One that stands on a SIMULATED run must
// say so itself, or it is ErrRefused.
func (j *Journal) SaveCalibration(one record.KeptCalibration) error {
	c := one.Calibration
	if err := c.Check(); err != nil {
		return fmt.Errorf("keeping a calibration: %w: %w", ErrRefused, err)
	}
	if slices.Contains(profiles.CalibrationIDs(), c.ID) {
		return fmt.Errorf("keeping the calibration %s: %w: it is the name of an embedded one; give another", c.ID, ErrKept)
	}
	return j.save("keeping the calibration "+c.ID, func(tx *sql.Tx) error {
		for _, run := range one.Runs {
			intent, err := j.intentOf(tx, run)
			if err != nil {
				return err
			}
			if intent.Simulated && !c.Simulated {
				return fmt.Errorf("%w: run %s is SIMULATED, and the calibration does not say so", ErrRefused, run)
			}
		}
		if taken, err := calibrationShelf.has(tx, c.ID); err != nil || taken {
			return errors.Join(err, ErrKept)
		}
		return calibrationShelf.put(tx, c.ID, one)
	})
}

// save writes entries in one durable transaction.
func (j *Journal) save(what string, work func(*sql.Tx) error) error {
	select {
	case <-j.stopped:
		return fmt.Errorf("%s: %w", what, ErrClosed)
	default:
	}
	if found := j.unsound.Load(); found != nil {
		return fmt.Errorf("%s: %w", what, *found)
	}
	if err := (disk{j.db}).transact(work); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// intentOf reads what a run was made from, without its samples.
func (r *Reader) intentOf(tx *sql.Tx, run string) (record.Intent, error) {
	var in record.Intent
	row, err := r.find(tx, run)
	if err == nil {
		err = json.Unmarshal(row.intent, &in)
	}
	return in, err
}
