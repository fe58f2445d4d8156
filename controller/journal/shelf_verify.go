package journal

import (
	"database/sql"
	"encoding/json"
	"fmt"
)

// Kept is how many entries stand on the shelves beside the runs.
type Kept struct {
	Calibrations int `json:"calibrations"`
	Readings     int `json:"readings"`
	Areas        int `json:"adopted_areas"`
	Strips       int `json:"strips"`
}

// verifyShelves reads every entry beside the runs.
func verifyShelves(tx *sql.Tx, found *Verification) error {
	var version int
	if err := tx.QueryRow("SELECT user_version FROM pragma_user_version").Scan(&version); err != nil {
		return err
	}
	counts := []*int{&found.Kept.Calibrations, &found.Kept.Readings, &found.Kept.Areas, &found.Kept.Strips}
	for i, s := range shelves {
		there, err := s.isThere(tx)
		if err != nil {
			return err
		}
		if there != (version >= s.since) {
			found.Problems = append(found.Problems, Problem{Message: fmt.Sprintf("the table %s and the version %d of the file do not fit each other", s.table, version)})
		}
		if *counts[i], err = s.verify(tx, found); damaged(err) {
			found.Problems = append(found.Problems, Problem{Message: err.Error()})
		} else if err != nil {
			return err
		}
	}
	return nil
}

func (s shelf) verify(tx *sql.Tx, found *Verification) (count int, err error) {
	last := int64(0)
	err = s.each(tx, "", func(k kept) error {
		name := fmt.Sprintf("%s %d", s.one, k.id)
		if k.id != last+1 {
			found.Problems = append(found.Problems, Problem{Entry: name, Message: fmt.Sprintf("number %d before it is missing", k.id-1)})
		}
		last = k.id
		count++
		if err := k.read(s, new(json.RawMessage)); err != nil {
			found.Problems = append(found.Problems, Problem{Entry: name, Message: err.Error()})
		}
		return nil
	})
	return count, err
}
