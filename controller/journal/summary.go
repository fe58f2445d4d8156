package journal

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"anodized/controller/fault"
	"anodized/controller/record"
)

// Summary is one line of the list of runs.
type Summary struct {
	ID               string         `json:"run"`
	StartedAt        time.Time      `json:"started_at"`
	Profile          string         `json:"profile"`
	Rack             string         `json:"rack"`
	Metal            string         `json:"metal"`
	Bath             string         `json:"bath"`
	Outcome          record.Outcome `json:"outcome"`
	Trip             *record.Trip   `json:"trip"`
	Simulated        bool           `json:"simulated"`
	TargetVolts      *float64       `json:"target_volts"`
	EndVolts         *float64       `json:"end_volts"`
	HighestVolts     *float64       `json:"highest_volts"`
	EndDensity       *float64       `json:"end_current_density_ma_cm2"`
	EnergisedSeconds *float64       `json:"energised_seconds"`
	Operator         string         `json:"operator,omitempty"`
	Note             string         `json:"note,omitempty"`
	FindingCodes     []fault.Code   `json:"findings"`
}

// Filter chooses runs; its zero value chooses all.
type Filter struct {
	Limit   int            // the newest so many; 0 for all
	Before  int64          // only runs with a smaller number; 0 for all
	Profile string         // name of the profile
	Outcome record.Outcome // how they ended
}

// Runs lists the runs that the filter lets through, newest first.
func (r *Reader) Runs(filter Filter) (list []Summary, err error) {
	running, err := r.running()
	if err != nil {
		return nil, err
	}
	cut, err := r.cutOff(running)
	if err != nil {
		return nil, err
	}
	const question = "SELECT id, intent, result FROM run WHERE ? = 0 OR id < ? ORDER BY id DESC"
	rows, err := r.db.Query(question, filter.Before, filter.Before)
	if err != nil {
		return nil, wrap(r.path, err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	list = []Summary{}
	for rows.Next() && (filter.Limit <= 0 || len(list) < filter.Limit) {
		summary, err := scanSummary(rows, running, cut)
		if err != nil {
			return nil, wrap(r.path, err)
		}
		if filter.passes(summary) {
			list = append(list, summary)
		}
	}
	return list, rows.Err()
}

func (f Filter) passes(s Summary) bool {
	return (f.Profile == "" || f.Profile == s.Profile) && (f.Outcome == "" || f.Outcome == s.Outcome)
}

// cutOff are the runs that nobody has closed yet, as their rows show them. One that cannot
// be read is left to its intent.
func (r *Reader) cutOff(running int64) (map[int64]Summary, error) {
	cut := map[int64]Summary{}
	open, err := r.openRuns()
	for _, row := range open {
		if row.id == running {
			continue // its numbers are on the page
		}
		run, err := r.Run(runName(row.id))
		switch {
		case err == nil:
			cut[row.id] = Summarise(run)
		case !errors.Is(err, ErrDamaged):
			return nil, err
		}
	}
	return cut, err
}

func scanSummary(rows *sql.Rows, running int64, cut map[int64]Summary) (Summary, error) {
	var row stored
	if err := rows.Scan(&row.id, &row.intent, &row.result); err != nil {
		return Summary{}, err
	}
	run := record.Run{ID: runName(row.id)}
	if err := json.Unmarshal(row.intent, &run.Intent); err != nil {
		return Summary{}, fmt.Errorf("%w: the intent of run %d: %w", ErrDamaged, row.id, err)
	}
	if summary, known := cut[row.id]; known && row.result == nil {
		return summary, nil
	}
	if row.result == nil {
		run.Result = unfinished(run, row.id == running)
		return Summarise(run), nil
	}
	if err := json.Unmarshal(row.result, &run.Result); err != nil {
		return Summary{}, fmt.Errorf("%w: the result of run %d: %w", ErrDamaged, row.id, err)
	}
	return Summarise(run), nil
}

// Summarise is the line of one run in the list.
func Summarise(run record.Run) Summary {
	in, res := run.Intent, run.Result
	s := Summary{ID: run.ID, StartedAt: in.StartedAt, Profile: in.Profile.Name, Rack: in.Rack.Name,
		Metal: in.Metal.ID, Bath: in.Bath.ID, Outcome: res.Outcome, Trip: res.Trip, Simulated: in.Simulated || res.Simulated,
		TargetVolts: res.TargetVolts, EndVolts: res.EndVolts, HighestVolts: res.HighestVolts, EndDensity: res.EndDensity,
		EnergisedSeconds: res.EnergisedSeconds, Operator: in.Operator, Note: in.Note, FindingCodes: []fault.Code{}}
	for _, finding := range res.Findings {
		s.FindingCodes = append(s.FindingCodes, finding.Code)
	}
	return s
}
