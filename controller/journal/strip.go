package journal

import (
	"database/sql"
	"fmt"

	"anodized/controller/record"
)

// Strips are how often parts of a run, by its number or as "last", were stripped after
// it, in the order in which they were told; of all runs where run is "".
func (r *Reader) Strips(run string) ([]record.Strip, error) {
	if run == "" {
		return of[record.Strip](r, stripShelf, "")
	}
	about, err := r.numberOf(run)
	if err != nil {
		return nil, err
	}
	return of[record.Strip](r, stripShelf, about)
}

// SaveStrip keeps that a person stripped parts of a run, durably. Whether that is
// SIMULATED is what the run is.
func (j *Journal) SaveStrip(one record.Strip) error {
	what := "keeping a strip of run " + one.Run
	if one.By == "" {
		return fmt.Errorf("%s: %w: it is a person's word, so say whose", what, ErrRefused)
	}
	return j.save(what, func(tx *sql.Tx) error {
		row, err := j.find(tx, one.Run)
		if err != nil {
			return err
		}
		one.Run = runName(row.id)
		intent, err := j.intentOf(tx, one.Run)
		if err != nil {
			return err
		}
		one.Simulated = intent.Simulated
		return stripShelf.put(tx, one.Run, one)
	})
}
