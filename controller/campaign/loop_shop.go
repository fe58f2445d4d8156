package campaign

import (
	"context"
	"errors"
	"fmt"

	"anodized/controller/colour"
	"anodized/controller/journal"
	"anodized/controller/match"
	"anodized/controller/plan"
)

// keep writes a run into the shop's journal as the Station gave it to its record, and
// returns its name there.
func keep(ctx context.Context, shop *journal.Journal, r Report) (string, error) {
	name, err := shop.Begin(ctx, r.Kept.Run.Intent)
	if err != nil {
		return "", fmt.Errorf("keep the load of seed %d: %w", r.Case.Seed, err)
	}
	for _, row := range r.Kept.Run.Rows {
		shop.Append(row)
	}
	for _, event := range r.Kept.Run.Events {
		shop.Note(event)
	}
	r.Result.Run = name
	return name, shop.Finish(ctx, r.Result)
}

// mostToLearn is how many loads of a rack the shop does before it gives up to learn its
// area: some of them are no good ones.
const mostToLearn = 8

// adopted does the two days where the rack whose area is declared wrong has done its loads
// before, and a person adopted what they showed: the second load then meets the first one,
// of another rack, whose area was right.
func (l *loop) adopted(first dipped, days [2]pass, want colour.Lab, master match.Goal) error {
	d := days[1]
	d.rack, d.target, d.warmer = "rack declared wrong", wanted(want), days[0].warmer
	if err := l.learn(&d); err != nil {
		return err
	}
	d.warmer = days[1].warmer
	second, err := l.load(DaysAdopted, d)
	if err != nil {
		return err
	}
	l.off(DaysAdopted, l.surface.Lab(first.film), l.surface.Lab(second.film))
	d.learned.history = plan.History{} // of parts that were bare
	master.Volts = second.Plan.TargetVolts
	stepped, err := l.grow(DaysAdoptedStepped, d, l.short(second), master)
	if err == nil {
		l.off(DaysAdoptedStepped, l.surface.Lab(first.film), l.surface.Lab(stepped.film))
	}
	return err
}

// learn does loads of a rack until its good ones tell its area, and adopts that.
func (l *loop) learn(d *pass) error {
	for range mostToLearn {
		got, err := l.load(DaysAdopted, *d)
		if err != nil {
			return err
		}
		run, err := l.shop.Run(got.kept)
		if err != nil {
			return err
		}
		live, err := l.shop.AreaOf(run)
		if errors.Is(err, journal.ErrNoArea) {
			continue
		}
		if err != nil {
			return err
		}
		live.By = "a person"
		if err := l.shop.AdoptArea(live); err != nil {
			return err
		}
		l.out.Live = float64(live.Area) / (partArea * float64(d.count))
		return l.know(d, got.Plan)
	}
	return nil
}

// know looks up what the journal knows of a rack, as a plan does.
func (l *loop) know(d *pass, made plan.Plan) (err error) {
	if d.learned.history, err = l.shop.History(made); err == nil {
		d.learned.adopted, err = l.shop.Adopted(made.Rack)
	}
	return err
}
