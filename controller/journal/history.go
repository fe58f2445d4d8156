package journal

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/replay"
)

const (
	mostLoads = 20  // good loads that make a history: more change its limit little
	searched  = 300 // newest runs that are looked through for them
)

// apart are warnings that say nothing against the parts of a load. No part is missing by more
// area than declared, and a rack whose declared area is too small has no other loads to show
// it. The series resistance is told from the area by the same readings, and a meter that is
// too coarse for the end is not for the ramp: what it does there is in the scatter.
var apart = []fault.Code{fault.AreaUnderstated, fault.BathResistanceHigh, fault.BathResistanceLow, fault.ReadbackTooCoarse}

// History is what the good loads of a plan's rack behaved like: complete ones without a
// warning, of the same rack, area and calibration, the newest first. Fewer than
// plan.LeastLoads are none. What a warning says of [apart] is no reason against a load.
func (r *Reader) History(p plan.Plan) (plan.History, error) {
	names, err := r.goodLoads(func(in record.Intent) bool { return alike(in.Plan, p) }, apart...)
	if err != nil || len(names) < plan.LeastLoads {
		return plan.History{}, err
	}
	var check, ramp []float64
	for _, name := range names {
		run, err := r.Run(name)
		if errors.Is(err, ErrDamaged) {
			continue // verify names it; it is no proof of anything
		}
		if err != nil {
			return plan.History{}, err
		}
		if c, m := replay.OfRun(run).Watch.Shares(); !math.IsNaN(c) && !math.IsNaN(m) {
			check, ramp = append(check, c), append(ramp, m)
		}
	}
	if len(ramp) < plan.LeastLoads {
		return plan.History{}, nil
	}
	return plan.History{Loads: len(ramp), Check: plan.Shares(check), Ramp: plan.Shares(ramp)}, nil
}

// goodLoads are the newest loads that are wanted and clean.
func (r *Reader) goodLoads(wanted func(record.Intent) bool, but ...fault.Code) (names []string, err error) {
	const question = "SELECT id, intent, result FROM run WHERE result IS NOT NULL ORDER BY id DESC LIMIT ?"
	rows, err := r.db.Query(question, searched)
	if err != nil {
		return nil, wrap(r.path, err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() && len(names) < mostLoads {
		name, good, err := goodLoad(rows, wanted, but)
		if err != nil {
			return nil, wrap(r.path, err)
		}
		if good {
			names = append(names, name)
		}
	}
	return names, rows.Err()
}

func goodLoad(rows *sql.Rows, wanted func(record.Intent) bool, but []fault.Code) (name string, good bool, err error) {
	var row stored
	if err := rows.Scan(&row.id, &row.intent, &row.result); err != nil {
		return "", false, err
	}
	var in record.Intent
	var result record.Result
	if err := errors.Join(json.Unmarshal(row.intent, &in), json.Unmarshal(row.result, &result)); err != nil {
		return "", false, fmt.Errorf("%w: run %d: %w", ErrDamaged, row.id, err)
	}
	return runName(row.id), wanted(in) && clean(result, but...), nil
}

// alike: the same parts in the same bath, by the same calibration, from the same film.
func alike(was, now plan.Plan) bool {
	return was.Rack == now.Rack && was.Parts == now.Parts && math.Abs(float64(was.Area/now.Area)-1) < 1e-3 &&
		was.Calibration.ID == now.Calibration.ID && was.Bath == now.Bath && was.Metal == now.Metal &&
		was.ContactCheck.FormedVolts == now.ContactCheck.FormedVolts && was.Simulated == now.Simulated
}

// clean tells whether a load went well: complete, and without a warning but those that say
// nothing against it.
func clean(r record.Result, but ...fault.Code) bool {
	for _, f := range r.Findings {
		if f.Severity != fault.Record && !slices.Contains(but, f.Code) {
			return false
		}
	}
	return r.Outcome == record.Complete
}
