package main

import (
	"errors"
	"math"

	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// colouredCoupon is a run, and the profile that it was by.
type colouredCoupon struct{ run, profile string }

// openSoftness takes the softness u of the growth from the decays of the good loads of
// the bath, the ladder's own among them, where the journal has those: it is what brings
// the calibration to another end. Where it has not, that is said, and the metal's
// constants stand.
func (w *ladderFit) openSoftness(e env) error {
	if len(w.coloured) == 0 {
		return nil
	}
	path, err := journalPath(e, w.flags.journal)
	if err != nil {
		return err
	}
	reader, err := openReading(path)
	if errors.Is(err, journal.ErrNoJournal) {
		w.note("the journal with the runs of this ladder is not at %s, so the softness of the growth stays that of the metal's file: name it with --journal", path)
		return nil
	}
	if err != nil {
		return cannot(err)
	}
	w.ran = shelf(path)
	if err := errors.Join(w.takeRuns(reader), w.soften(reader), reader.Close()); err != nil {
		return cannot(err)
	}
	return nil
}

// takeRuns takes the runs that the journal has of this ladder. Runs are numbered in each
// journal anew, so one that coloured something else is none of them.
func (w *ladderFit) takeRuns(reader *journal.Reader) error {
	for _, one := range w.coloured {
		run, err := reader.Run(one.run)
		if errors.Is(err, journal.ErrNoRun) || err == nil && run.Intent.Profile.Name != one.profile {
			continue
		}
		if err != nil {
			return err
		}
		w.runs = append(w.runs, one.run)
	}
	return nil
}

// decayDoubt is the share of u that all decays of a bath may be taken wrongly by: a
// current that makes no film, or a film that dissolves, lets 24.6 look like 19 to 23
// (computed).
const decayDoubt = 1. / 10

func (w *ladderFit) soften(reader *journal.Reader) error {
	found, err := reader.Softness(journal.Decays{Metal: w.metal.ID, Bath: w.flags.bath, At: w.ladder.End, Simulated: w.flags.simulated})
	if err != nil {
		return err
	}
	n := len(found.Runs)
	if !found.Known() {
		w.note("%d good loads of this bath in the journal show the softness of the growth, at least %d are needed: it stays that of the metal's file", n, record.LeastDecays)
		return nil
	}
	w.softness, w.softnessSD = found.Median, math.Hypot(found.SD/math.Sqrt(float64(n)), decayDoubt*found.Median)
	w.note("softness u = %.1f +- %.1f at %s, from the decays of %d good loads of this bath", w.softness, w.softnessSD, unit.Format(w.ladder.End), n)
	return nil
}
