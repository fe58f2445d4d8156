package main

import (
	"errors"
	"fmt"
	"strings"

	"anodized/controller/match"
	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"
)

// stepUp makes the request of a plan that grows the parts of a recorded run on towards
// their colour, by the readings that were attached to it, and never above the step that
// is safe for each of them.
func stepUp(e env, f planFlags, from repeatFlags) (plan.Request, frozen, error) {
	if err := from.checkStepUp(f); err != nil {
		return plan.Request{}, frozen{}, badInput(err)
	}
	w, err := openMatch(e, matchOfRun(from.stepUp, from.journal, from.goal))
	if err != nil {
		return plan.Request{}, frozen{}, err
	}
	in := w.from.Intent
	kept := frozen{Profile: in.Profile, Rack: in.Rack, Metal: in.Metal, Bath: in.Bath, Calibration: in.Calibration, StepUp: w.from.ID, stdin: e.stdin}
	if err := w.hangs(e, f, &kept); err != nil {
		return plan.Request{}, kept, badInput(err)
	}
	target, err := w.safeStep(e)
	if err != nil {
		return plan.Request{}, kept, err
	}
	kept.Profile.Target = profiles.Target{Volts: target}
	kept.Rack.FormedTo = max(kept.Rack.FormedTo, voltsOfRun(*w.from))
	if err := kept.openBench(f.bench); err != nil {
		return plan.Request{}, kept, badInput(err)
	}
	request, err := kept.request()
	if err == nil && in.Simulated && !request.Simulated {
		err = badInput(fmt.Errorf("run %s is SIMULATED: nothing simulated feeds a plan for a real bench", w.from.ID))
	}
	return request, kept, err
}

// checkStepUp refuses what a step cannot take from anywhere but its run.
func (f repeatFlags) checkStepUp(p planFlags) error {
	switch {
	case f.run != "" || f.newParts:
		return errors.New("--step-up grows the parts of a run on, and --from repeats one: give one of the two")
	case p.profile != profiles.DefaultProfile || p.metal != "" || p.bath != "" || p.calibration != "" || p.ready != nil || p.stage != 0:
		return errors.New("--step-up takes profile, metal, bath and calibration from the run: leave these out")
	}
	return f.goal.check()
}

// hangs takes the rack that was named where not all parts of the run hang again, and
// of the readings those of its parts.
func (w *matching) hangs(e env, f planFlags, kept *frozen) error {
	if len(kept.Profile.Stages) > 0 {
		return fmt.Errorf("run %s was a stage of the profile %q: a step grows one colour on; plan the stages anew", w.from.ID, kept.Profile.Name)
	}
	if f.rack == profiles.DefaultRack {
		return nil
	}
	var err error
	if kept.Rack, err = openRack(f.rack, e.stdin); err != nil {
		return err
	}
	var pieces []match.Piece
	for _, p := range w.pieces {
		for _, part := range kept.Rack.Parts {
			if strings.HasPrefix(strings.ToLower(p.Name), strings.ToLower(part.Name)) {
				pieces = append(pieces, p)
				break
			}
		}
	}
	if len(pieces) == 0 {
		return fmt.Errorf("no reading of run %s is of a part of the rack %q: name the parts in the rack as in the readings", w.from.ID, kept.Rack.Name)
	}
	w.pieces = pieces
	return nil
}

// safeStep is the target that is safe for every piece: the least of their steps. Where
// one of them is not to be stepped up there is none.
func (w *matching) safeStep(e env) (unit.Volts, error) {
	var least match.Outcome
	var of string
	for _, p := range w.pieces {
		if date := stripped(w.strips, w.from.ID, p.Name); date != "" {
			return 0, badInput(fmt.Errorf("%s of run %s was stripped on %s: there is no film to grow on; run it anew with --after-strip %s", p.Name, w.from.ID, date, w.from.ID))
		}
		o := w.basis.basisOf().Judge(p, *w.goal, w.flags.readingSD)
		switch {
		case o.Verdict == match.Accept:
			return 0, notRight(fmt.Errorf("%s of run %s is there: dE00 %.2f to %s, %.2f is allowed; nothing is planned (take it off, and name the rack of those that are behind with --rack)", p.Name, w.from.ID, o.DE00, w.master, o.Allowed))
		case o.Verdict != match.StepUp:
			return 0, notRight(fmt.Errorf("%s of run %s: %s, %s; nothing is planned (anodized match --run %s says all)", p.Name, w.from.ID, o.Verdict, o.Why, w.from.ID))
		case of == "" || o.To < least.To:
			least, of = o, p.Name
		}
	}
	_, err := fmt.Fprintf(e.stderr, "anodized: %s of run %s: %s; planned %.2f V more, to %.2f V: dE00 %.2f to %s now, %.2f expected\n",
		of, w.from.ID, least.Why, float64(least.Add), float64(least.To), least.DE00, w.master, least.Expected)
	return least.To, err
}
