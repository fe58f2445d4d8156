package journal

import (
	"database/sql"
	"fmt"

	"anodized/controller/record"
)

// Readings are the colour readings of a run, by its number or as "last", in the order in
// which they were taken in; of all runs where run is "".
func (r *Reader) Readings(run string) ([]record.KeptReading, error) {
	if run == "" {
		return of[record.KeptReading](r, readingShelf, "")
	}
	about, err := r.numberOf(run)
	if err != nil {
		return nil, err
	}
	return of[record.KeptReading](r, readingShelf, about)
}

// numberOf is the number of a run that is there.
func (r *Reader) numberOf(run string) (string, error) {
	tx, err := r.db.Begin()
	if err != nil {
		return "", wrap(r.path, err)
	}
	row, err := r.find(tx, run)
	if undo := tx.Rollback(); err == nil {
		err = undo
	}
	return runName(row.id), err
}

// SaveReadings keeps colour readings with the run that they are of, durably and all or
// none. They are never overwritten: the same spot read again is another reading. Whether
// they are SIMULATED is what the run is.
func (j *Journal) SaveReadings(run string, readings ...record.KeptReading) error {
	if len(readings) == 0 {
		return fmt.Errorf("keeping the readings of run %s: %w: there are none", run, ErrRefused)
	}
	return j.save("keeping the readings of run "+run, func(tx *sql.Tx) error {
		row, err := j.find(tx, run)
		if err != nil {
			return err
		}
		intent, err := j.intentOf(tx, runName(row.id))
		if err != nil {
			return err
		}
		for _, one := range readings {
			one.Run, one.Simulated = runName(row.id), intent.Simulated
			if err := readingShelf.put(tx, one.Run, one); err != nil {
				return err
			}
		}
		return nil
	})
}
