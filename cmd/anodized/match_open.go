package main

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"anodized/controller/colour"
	"anodized/controller/journal"
	"anodized/controller/match"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// matching is a match that is ready: what is matched, to what, and by what law.
type matching struct {
	flags  *matchFlags
	basis  *colourBasis
	pieces []match.Piece
	goal   *match.Goal // nil: a set among itself
	master string      // what the goal is
	from   *record.Run // nil without --run
	notes  []string
	strips []record.Strip // of the parts of from
}

func openMatch(e env, f *matchFlags) (*matching, error) {
	w := &matching{flags: f, basis: &colourBasis{}}
	var kept []record.KeptReading
	if f.run != "" {
		run, readings, err := runWithReadings(e, f.journal, f.run)
		if err != nil {
			return nil, err
		}
		if run.Result.Outcome == record.Refused {
			return nil, badInput(fmt.Errorf("run %s was refused and never energised: it coloured nothing", run.ID))
		}
		w.from, kept = &run, readings
	}
	return w, w.open(e, kept)
}

// open opens what the pieces are matched by, and to.
func (w *matching) open(e env, kept []record.KeptReading) error {
	for _, step := range []func() error{
		func() error { return w.openBasis(e) },
		func() error { return w.openGoal(e) },
		func() error { return w.openPieces(e, kept) },
	} {
		if err := step(); err != nil {
			return badInput(err)
		}
	}
	return errors.Join(w.bringBefore(e), w.bringStrips(e))
}

// bringStrips finds how often the parts were stripped, and says where that was after the
// run itself.
func (w *matching) bringStrips(e env) (err error) {
	if w.from == nil {
		return nil
	}
	if w.strips, err = stripsBefore(e, w.flags.journal, *w.from); err != nil {
		return err
	}
	for _, p := range w.pieces {
		if date := stripped(w.strips, w.from.ID, p.Name); date != "" {
			w.notes = append(w.notes, fmt.Sprintf("%s of run %s was stripped on %s: the reading is of a film that is gone", p.Name, w.from.ID, date))
		}
	}
	return nil
}

// runWithReadings reads a run and the colours that were attached to it.
func runWithReadings(e env, journalFlag, name string) (record.Run, []record.KeptReading, error) {
	path, err := journalPath(e, journalFlag)
	if err != nil {
		return record.Run{}, nil, err
	}
	reader, err := openReading(path)
	if errors.Is(err, journal.ErrNoJournal) {
		return record.Run{}, nil, badInput(fmt.Errorf("no run %s: %w", name, err))
	}
	if err != nil {
		return record.Run{}, nil, cannot(err)
	}
	run, err := reader.Run(name)
	var kept []record.KeptReading
	if err == nil {
		kept, err = reader.Readings(run.ID)
	}
	switch err = errors.Join(err, reader.Close()); {
	case errors.Is(err, journal.ErrNoRun):
		return run, kept, badInput(err)
	case err != nil:
		return run, kept, cannot(err)
	}
	return run, kept, nil
}

// openBasis takes metal, calibration and end from the run where one is named.
func (w *matching) openBasis(e env) error {
	f := &w.flags.colour
	if w.from == nil {
		basis, err := f.open(e)
		if err == nil {
			w.basis = basis
		}
		return err
	}
	w.basis.metal, w.basis.calibration = w.from.Intent.Metal, w.from.Intent.Calibration
	if err := w.basis.openTables(f); err != nil {
		return err
	}
	w.basis.reckonFor(endOfRun(*w.from))
	return nil
}

// endOfRun is the current density that a run ended at, or was to.
func endOfRun(run record.Run) unit.CurrentDensity {
	if end := run.Result.EndDensity; end != nil && *end > 0 && run.Result.Outcome == record.Complete {
		return unit.CurrentDensity(*end)
	}
	return run.Intent.Plan.End.CurrentDensity
}

// voltsOfRun is what the films of a run were formed to: the target of one that
// completed, else what its film had reached.
func voltsOfRun(run record.Run) unit.Volts {
	target := run.Intent.Plan.TargetVolts
	if run.Result.Outcome == record.Complete || run.Result.HighestVolts == nil {
		return target
	}
	return min(target, unit.Volts(math.Floor(*run.Result.HighestVolts*10)/10))
}

func (w *matching) openGoal(e env) error {
	goal, master, err := w.flags.goal.open(e, w.basis.metal.ID)
	if err != nil {
		return err
	}
	if goal == nil && w.from != nil {
		expected := w.from.Intent.Plan.Expected.Lab
		goal = &match.Goal{Lab: colour.Lab{L: expected[0], A: expected[1], B: expected[2]}, Tolerance: match.UsualTolerance}
		master = "what the plan of run " + w.from.ID + " expected"
		if w.flags.goal.tolerance > 0 {
			goal.Tolerance = w.flags.goal.tolerance
		}
	}
	w.goal, w.master = goal, master
	return nil
}

// ahead reads the master now, so that a mistake in it comes before anything is kept.
func (g goalFlags) ahead(e env, metal string) (goalFlags, error) {
	goal, name, err := g.open(e, metal)
	g.read = &goalRead{goal, name}
	return g, err
}

// open reads the master; nil where none is named.
func (g goalFlags) open(e env, metal string) (*match.Goal, string, error) {
	if g.read != nil {
		return g.read.goal, g.read.name, nil
	}
	goal, name := match.Goal{Tolerance: match.UsualTolerance}, "the master"
	switch {
	case g.master != "":
		lab, err := labFlag("master", g.master)
		if err != nil {
			return nil, "", err
		}
		goal.Lab = lab
	case g.file != "":
		m, err := profiles.OpenMaster(g.file, e.stdin)
		if err != nil {
			return nil, "", fmt.Errorf("--master-file: %w", err)
		}
		of, err := profiles.OpenMetal(m.Metal, nil)
		if err != nil {
			return nil, "", fmt.Errorf("the master %q names its metal: %w", m.Name, err)
		}
		if of.ID != metal {
			return nil, "", fmt.Errorf("the master %q is of %s and the piece is of %s: another metal has other colours", m.Name, of.ID, metal)
		}
		goal, name = match.GoalOf(m), "the master "+m.Name
	default:
		return nil, "", nil
	}
	if g.tolerance > 0 {
		goal.Tolerance = g.tolerance
	}
	return &goal, name, nil
}

func (w *matching) openPieces(e env, kept []record.KeptReading) error {
	f := w.flags
	var readings []profiles.ColourReading
	switch {
	case f.measured != "":
		lab, err := labFlag("measured", f.measured)
		if err != nil {
			return err
		}
		w.pieces = []match.Piece{{Name: "the piece", Measured: lab, Volts: w.volts()}}
		return nil
	case f.set != "":
		var err error
		if readings, err = profiles.OpenReadings(f.set, e.stdin); err != nil {
			return fmt.Errorf("--set: %w", err)
		}
	default:
		if readings = latest(kept); len(readings) == 0 {
			return fmt.Errorf("no colour reading is attached to run %s: anodized runs read %s takes one, or give --measured", w.from.ID, w.from.ID)
		}
	}
	return w.take(readings)
}

// volts are those of pieces that do not say their own; 0 is not known.
func (w *matching) volts() unit.Volts {
	if w.flags.volts.Given || w.from == nil {
		return w.flags.volts.Value
	}
	return voltsOfRun(*w.from)
}

// latest is the last reading of each spot of each part.
func latest(kept []record.KeptReading) []profiles.ColourReading {
	var names []string
	last := map[string]profiles.ColourReading{}
	for _, k := range kept {
		name := strings.ToLower(k.Reading.Name())
		if _, known := last[name]; !known {
			names = append(names, name)
		}
		last[name] = k.Reading
	}
	readings := make([]profiles.ColourReading, len(names))
	for i, name := range names {
		readings[i] = last[name]
	}
	return readings
}

func (w *matching) take(readings []profiles.ColourReading) error {
	labs, notes, err := colour.Readings(readings)
	if err != nil {
		return err
	}
	w.notes = append(w.notes, notes...)
	w.believe(readings)
	for i, r := range readings {
		p := match.Piece{Name: or(r.Name(), fmt.Sprintf("piece %d", i+1)), Measured: labs[i], Volts: r.Volts}
		if math.IsNaN(float64(p.Volts)) || w.from != nil {
			p.Volts = w.volts()
		}
		if !(p.Volts > 0) {
			return fmt.Errorf("%q does not say its volts, and colour alone does not tell the order: give --volts, or a column volts", p.Name)
		}
		w.pieces = append(w.pieces, p)
	}
	return nil
}

// believe takes readings as no better than what measured them says of itself.
func (w *matching) believe(readings []profiles.ColourReading) {
	worst := profiles.StatedError{}
	for _, r := range readings {
		if r.Error != nil && r.Error.Median > worst.Median {
			worst = *r.Error
		}
	}
	if sd := match.StatedSD(worst); sd > w.flags.readingSD {
		w.flags.readingSD = sd
		w.notes = append(w.notes, fmt.Sprintf("by its own word the sensor is off by dE00 %.1f in the middle and %.1f at the 95th percentile: the films and steps are reckoned with that", worst.Median, worst.P95))
	}
	if w.goal != nil && worst.P95 > w.goal.Tolerance {
		w.notes = append(w.notes, fmt.Sprintf("that is more than the dE00 %.2f that is allowed: settle what is near it by an instrument", w.goal.Tolerance))
	}
}

// bringBefore finds what the same parts looked like before they were stepped up to
// where they are: two readings tell more of a film than one.
func (w *matching) bringBefore(e env) error {
	for from := w.from; from != nil && from.Intent.StepUp != ""; {
		run, kept, err := runWithReadings(e, w.flags.journal, from.Intent.StepUp)
		if err != nil {
			return err
		}
		readings := latest(kept)
		labs, _, err := colour.Readings(readings)
		if err != nil {
			return badInput(err)
		}
		for i := range w.pieces {
			for k, r := range readings {
				if len(w.pieces) == 1 && len(readings) == 1 || strings.EqualFold(r.Name(), w.pieces[i].Name) {
					w.pieces[i].Before = append(w.pieces[i].Before, match.Reading{Measured: labs[k], Volts: voltsOfRun(run)})
				}
			}
		}
		from = &run
	}
	return nil
}

func (w *matching) tellNotes(e env) error {
	for _, note := range w.notes {
		if _, err := fmt.Fprintf(e.stderr, "anodized: %s\n", note); err != nil {
			return err
		}
	}
	return nil
}
