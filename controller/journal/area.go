package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// ErrNoArea is wrapped where the good loads like a run tell no area that may be adopted.
var ErrNoArea = errors.New("no live area to adopt")

// AreaOf is the live area that the good loads like a run showed, for a person to adopt.
func (r *Reader) AreaOf(run record.Run) (record.AdoptedArea, error) {
	made := run.Intent.Plan
	c := made.Calibration
	one := record.AdoptedArea{Rack: made.Rack, Declared: made.Area, Run: run.ID, Calibration: c.ID, Efficiency: c.Efficiency, Simulated: run.Intent.Simulated}
	if c.Book {
		return one, fmt.Errorf("%w: calibration %q is a book value, and the live area is only as true as its nm per volt: make a ladder first", ErrNoArea, c.ID)
	}
	history, err := r.History(made)
	if err != nil {
		return one, err
	}
	if history.Loads == 0 {
		return one, fmt.Errorf("%w: fewer than %d good loads of the rack %q with calibration %q are on record: complete ones without a warning against their parts", ErrNoArea, plan.LeastLoads, made.Rack, c.ID)
	}
	share := history.Ramp
	one.Area, one.SD, one.Loads = unit.SquareCentimetres(share.Mean)*made.Area, unit.SquareCentimetres(share.SD)*made.Area, history.Loads
	return one, nil
}

// Adopted is the area that a person adopted for a rack last, nil for none.
func (r *Reader) Adopted(rack string) (*plan.Adopted, error) {
	all, err := r.AdoptedAreas(rack)
	if err != nil || len(all) == 0 || all[0].Withdrawn || math.IsNaN(float64(all[0].Area)) {
		return nil, err
	}
	one := all[0]
	return &plan.Adopted{Area: one.Area, SD: one.SD, Declared: one.Declared, Loads: one.Loads, Efficiency: one.Efficiency,
		By: one.By, Date: one.SavedAt.Format(time.DateOnly), Simulated: one.Simulated}, nil
}

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
