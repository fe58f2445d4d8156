package main

import (
	"fmt"
	"time"

	"anodized/controller/journal"
	"anodized/controller/record"
)

// stripsBefore are the strips of the parts of a run: those after it, and those after each
// run that these parts were in before.
func stripsBefore(e env, journalFlag string, run record.Run) (all []record.Strip, err error) {
	path, err := journalPath(e, journalFlag)
	if err != nil {
		return nil, err
	}
	err = shelf(path).read(func(r *journal.Reader) error {
		for at, in := run.ID, run.Intent; ; {
			strips, err := r.Strips(at)
			if err != nil {
				return err
			}
			all = append(strips, all...)
			if at = or(in.AfterStrip, in.StepUp); at == "" {
				return nil
			}
			before, err := r.Run(at)
			if err != nil {
				return fmt.Errorf("run %s is of the parts of run %s: %w", run.ID, at, err)
			}
			in = before.Intent
		}
	})
	if err != nil {
		return nil, cannot(err)
	}
	return all, nil
}

// countStrips counts those of a piece; "" is of all parts together, which count as often
// as the one of them that was stripped most.
func countStrips(all []record.Strip, piece string) int {
	whole, parts, most := 0, map[string]int{}, 0
	for _, s := range all {
		switch {
		case s.Part == "":
			whole++
		case piece == "":
			parts[s.Part]++
			most = max(most, parts[s.Part])
		case samePart(piece, s.Part):
			whole++
		}
	}
	return whole + most
}

// stripped tells when the parts of a run were stripped after it; "" where they were not.
func stripped(all []record.Strip, run, piece string) (date string) {
	for _, s := range all {
		if s.Run == run && (s.Part == "" || samePart(piece, s.Part)) {
			date = s.SavedAt.Format(time.DateOnly)
		}
	}
	return date
}

func stripsWord(count int) string {
	if count == 1 {
		return "1 strip so far"
	}
	return fmt.Sprintf("%d strips so far", count)
}

// afterStrip is the run whose parts hang again, stripped since.
func afterStrip(e env, from repeatFlags, simulated bool) (string, error) {
	run, err := recordedRun(e, repeatFlags{run: from.afterStrip, journal: from.journal})
	if err != nil {
		return "", err
	}
	if run.Intent.Simulated && !simulated {
		return "", badInput(fmt.Errorf("--after-strip: run %s is SIMULATED: its parts hang on no real bench", run.ID))
	}
	all, err := stripsBefore(e, from.journal, run)
	if err != nil {
		return "", err
	}
	for _, s := range all {
		if s.Run == run.ID {
			return run.ID, nil
		}
	}
	return "", badInput(fmt.Errorf("no strip of run %s is on record: anodized runs strip %s keeps that its parts were stripped", run.ID, run.ID))
}
