package main

import (
	"errors"
	"fmt"

	"anodized/controller/journal"
	"anodized/controller/plan"
)

// withHistory plans with what the good loads of the same rack behaved like, where the
// journal has enough of them: only they tell a part that hangs without contact. Its
// errors carry their exit status.
func withHistory(path string, request plan.Request) (plan.Plan, error) {
	request.History, request.Adopted = plan.History{}, nil
	made, err := buildPlan(request)
	if err != nil {
		return made, err
	}
	if request.Adopted, err = shelf(path).adopted(made.Rack); err != nil {
		return plan.Plan{}, cannot(fmt.Errorf("look for an adopted area of this rack: %w", err))
	}
	if made.Parts > 1 {
		if request.History, err = historyOf(path, made); err != nil {
			return plan.Plan{}, cannot(fmt.Errorf("look for earlier loads of this rack: %w", err))
		}
	}
	if request.History.Loads == 0 && request.Adopted == nil {
		return made, nil
	}
	return buildPlan(request)
}

func buildPlan(request plan.Request) (plan.Plan, error) {
	made, err := plan.Build(request)
	switch {
	case errors.Is(err, plan.ErrNotReachable):
		return made, notRight(err)
	case err != nil:
		return made, badInput(err)
	}
	return made, nil
}

// placeOfHistory is the journal that a plan reads; none where nothing says where it is:
// such a plan says that the contact of each part is not proven.
func placeOfHistory(e env, flag string) (string, error) {
	path, err := journalPath(e, flag)
	if errors.Is(err, errNoPlace) {
		return "", nil
	}
	return path, err
}

// historyOf is none where there is no journal, or a damaged one, which the start of a
// load sets aside and names.
func historyOf(path string, p plan.Plan) (history plan.History, err error) {
	if path == "" {
		return plan.History{}, nil
	}
	reader, err := openReading(path)
	if errors.Is(err, journal.ErrNoJournal) || errors.Is(err, journal.ErrDamaged) {
		return plan.History{}, nil
	}
	if err != nil {
		return plan.History{}, err
	}
	defer func() { err = errors.Join(err, reader.Close()) }()
	history, err = reader.History(p)
	if errors.Is(err, journal.ErrDamaged) {
		return plan.History{}, nil
	}
	return history, err
}
