package journal

import (
	"database/sql"
	"fmt"
	"math"
	"slices"

	"anodized/controller/record"
)

// AdoptedAreas are the areas that persons adopted for a rack, the newest first; of all
// racks where rack is "".
func (r *Reader) AdoptedAreas(rack string) ([]record.AdoptedArea, error) {
	all, err := of[record.AdoptedArea](r, areaShelf, rack)
	slices.Reverse(all)
	return all, err
}

// AdoptArea keeps that a person adopted an area, durably. Nobody else does.
func (j *Journal) AdoptArea(one record.AdoptedArea) error {
	switch {
	case one.By == "":
		return fmt.Errorf("adopting an area for the rack %q: %w: it is a person's word, so say whose", one.Rack, ErrRefused)
	case one.Rack == "":
		return fmt.Errorf("adopting an area: %w: the rack has no name", ErrRefused)
	case !one.Withdrawn && (!(one.Area > 0) || math.IsInf(float64(one.Area), 0) || !(one.Declared > 0) || one.Loads < 1):
		return fmt.Errorf("adopting an area for the rack %q: %w: %v of %d loads beside the declared %v is no area", one.Rack, ErrRefused, one.Area, one.Loads, one.Declared)
	}
	return j.save("adopting an area for the rack "+one.Rack, func(tx *sql.Tx) error {
		if one.Run != "" {
			intent, err := j.intentOf(tx, one.Run)
			if err != nil {
				return err
			}
			one.Simulated = intent.Simulated
		}
		return areaShelf.put(tx, one.Rack, one)
	})
}
