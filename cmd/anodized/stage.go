package main

import (
	"errors"
	"fmt"
	"strings"

	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
)

// chooseStage makes of a job of several colours the one run that was asked for: each is a
// start of its own, by a person who took a mask off or moved the part.
func (k *frozen) chooseStage(request plan.Request) (plan.Request, error) {
	runs, err := plan.Runs(request)
	switch {
	case errors.Is(err, plan.ErrNotReachable):
		return request, notRight(err)
	case err != nil:
		return request, badInput(err)
	case k.Stage < 0 || k.Stage > len(runs):
		return request, badInput(fmt.Errorf("stage %d: the profile %q has stages 1 to %d", k.Stage, k.Profile.Name, len(runs)))
	}
	chosen := runs[max(k.Stage, 1)-1]
	k.Profile, k.Rack = chosen.Profile, chosen.Rack
	return chosen, nil
}

// tellBefore says where the stage before this one has no good end on record. It may have
// been done elsewhere, so it refuses nothing.
func (j *job) tellBefore(e env) error {
	stage := j.plan.Job
	if stage == nil || stage.Stage == 1 {
		return nil
	}
	done, err := j.hasStage(stage, stage.Stage-1)
	if err != nil || done {
		return err
	}
	_, err = fmt.Fprintf(e.stderr, "anodized: stage %d of %q is not on record as complete: if it was not done, its surface gets the colour of this stage too\n", stage.Stage-1, stage.Profile)
	return err
}

func (j *job) hasStage(stage *plan.Job, number int) (done bool, err error) {
	reader, err := openReading(j.path)
	if errors.Is(err, journal.ErrNoJournal) || errors.Is(err, journal.ErrDamaged) {
		return false, nil // the start of a load says it
	}
	if err != nil {
		return false, cannot(err)
	}
	defer func() { err = errors.Join(err, reader.Close()) }()
	runs, err := reader.Runs(journal.Filter{Profile: stageOf(stage.Profile, number, stage.Of), Outcome: record.Complete})
	for _, run := range runs {
		done = done || run.Rack == stageOf(stage.Rack, number, stage.Of)
	}
	return done, err
}

func stageOf(name string, number, of int) string { return plan.StageName(name, number, of) }

// tellNext says what a person does before the next stage.
func (j *job) tellNext(e env, result record.Result) error {
	stage := j.plan.Job
	if stage == nil || stage.Stage == stage.Of || statusOf(result) != nil {
		return nil
	}
	next := stage.Runs[stage.Stage]
	what := "move the part to its next strip"
	if len(next.MaskRemoved) > 0 {
		what = "take off " + strings.Join(next.MaskRemoved, " and ")
	} else if next.Immersed > 0 {
		what = fmt.Sprintf("set the part to %.4g mm in the bath", float64(next.Immersed))
	}
	_, err := fmt.Fprintf(e.stderr, "anodized: next is stage %d of %d, %q at %.4g V: open the lid, %s, and run again with --stage %d; nothing is moved by hand while the output is on\n",
		next.Stage, stage.Of, next.Name, float64(next.TargetVolts), what, next.Stage)
	return err
}

// tellReading says how the match of a load that ended well is come by. A ladder's coupons
// are read into the ladder.
func (j *job) tellReading(e env, result record.Result) error {
	if j.flags.json || j.flags.each != nil || statusOf(result) != nil {
		return nil
	}
	_, err := fmt.Fprintf(e.stderr, "anodized: how the parts match is known once they are rinsed, dry and read: anodized runs read %s, or sensor --run %s\n", result.Run, result.Run)
	return err
}

func printJob(t *table, j *plan.Job) {
	if j == nil {
		return
	}
	t.row("job\t%s\tstage %d of %d, %s; each a run of its own", j.Profile, j.Stage, j.Of, j.Name)
	for _, r := range j.Runs {
		before := ""
		if len(r.MaskRemoved) > 0 {
			before = "after taking off " + strings.Join(r.MaskRemoved, " and ")
		}
		if r.Immersed > 0 {
			before = fmt.Sprintf("%.4g mm in the bath", float64(r.Immersed))
		}
		t.row("  %d %s\t%.5g V %s, %.2f cm2, %.3f A\t%s", r.Stage, r.Name, float64(r.TargetVolts), r.Hex, float64(r.Area), float64(r.CurrentLimit), before)
	}
	if j.VoltsPerMM != 0 {
		t.row("  gradient\t%.4g V/mm", j.VoltsPerMM)
	}
	t.row("")
}
