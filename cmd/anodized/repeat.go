package main

import (
	"errors"
	"fmt"
	"math"

	"github.com/spf13/pflag"

	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// repeatFlags say which recorded run is to be repeated.
type repeatFlags struct {
	run, journal string
	newParts     bool
	afterStrip   string    // the run whose parts hang again, stripped since
	stepUp       string    // the run whose parts are grown on
	goal         goalFlags // of a step
}

func (f *repeatFlags) register(flags *pflag.FlagSet) {
	flags.StringVar(&f.run, "from", "", "repeat a recorded run, by its number or last: its frozen profile, rack, bath and calibration; one that was cut off is continued on the same parts")
	flags.BoolVar(&f.newParts, "new-parts", false, "with --from: other parts hang in the rack, so a run that was cut off is repeated from its start")
	flags.StringVar(&f.stepUp, "step-up", "", "grow the parts of a recorded run on towards their colour, by its attached readings and no further than is safe; --rack names another rack where not all of them hang")
	flags.StringVar(&f.afterStrip, "after-strip", "", "the same parts as in that recorded run, stripped since (runs strip): their strips go on being counted")
	f.goal.register(flags)
}

// assembleOr makes the request of a plan from a recorded run where one is named,
// else from what the flags name.
func assembleOr(e env, f planFlags, from repeatFlags) (plan.Request, frozen, error) {
	if err := f.check(); err != nil {
		return plan.Request{}, frozen{}, badInput(err)
	}
	if from.afterStrip != "" && from.stepUp != "" {
		return plan.Request{}, frozen{}, badInput(errors.New("--step-up grows a film on, and --after-strip is of parts without one: give one of the two"))
	}
	request, kept, err := assembleFrom(e, f, from)
	if err == nil && from.afterStrip != "" {
		kept.AfterStrip, err = afterStrip(e, from, request.Simulated)
	}
	return request, kept, err
}

func assembleFrom(e env, f planFlags, from repeatFlags) (plan.Request, frozen, error) {
	if from.stepUp != "" {
		return stepUp(e, f, from)
	}
	if from.goal != (goalFlags{}) {
		return plan.Request{}, frozen{}, badInput(errors.New("--master, --master-file and --tolerance go with --step-up: name the run whose parts are grown on"))
	}
	if from.run == "" && from.newParts {
		return plan.Request{}, frozen{}, badInput(errors.New("--new-parts goes with --from: name the run that is repeated"))
	}
	if from.run == "" {
		return assemble(f, e.stdin)
	}
	if f != (planFlags{profile: profiles.DefaultProfile, rack: profiles.DefaultRack, bench: f.bench, bathTemperature: f.bathTemperature, shelf: f.shelf}) {
		return plan.Request{}, frozen{}, badInput(errors.New("--from repeats a run as it was: leave out --profile, --rack, --metal, --bath and --calibration, or leave out --from"))
	}
	recorded, err := recordedRun(e, from)
	if err != nil {
		return plan.Request{}, frozen{}, err
	}
	in := recorded.Intent
	kept := frozen{Profile: in.Profile, Rack: in.Rack, Metal: in.Metal, Bath: in.Bath, Calibration: in.Calibration,
		Repeats: &recorded, Choice: ofRun(recorded.ID), Today: today(), Temperature: f.bathTemperature.Value, stdin: e.stdin}
	if from.afterStrip != "" {
		kept.Rack.FormedTo = 0
	} else if !from.newParts {
		if err := continueOn(e, &kept.Rack, recorded); err != nil {
			return plan.Request{}, kept, err
		}
	}
	if err := kept.openBench(f.bench); err != nil {
		return plan.Request{}, kept, badInput(err)
	}
	request, err := kept.request()
	if err == nil && in.Simulated && !request.Simulated {
		err = badInput(fmt.Errorf("run %s is SIMULATED: nothing simulated feeds a plan for a real bench; name the profile and the rack", recorded.ID))
	}
	return request, kept, err
}

// ofRun is how a run that is repeated comes by its calibration.
func ofRun(id string) plan.Choice {
	return plan.Choice{By: plan.ByRun, Why: fmt.Sprintf("of run %s, which is repeated", id)}
}

func recordedRun(e env, from repeatFlags) (record.Run, error) {
	path, err := journalPath(e, from.journal)
	if err != nil {
		return record.Run{}, err
	}
	run, err := readRun(path, from.run)
	if err == nil {
		return run, nil
	}
	err = fmt.Errorf("repeat run %q: %w", from.run, err)
	if errors.Is(err, journal.ErrNoRun) || errors.Is(err, journal.ErrNoJournal) {
		return record.Run{}, badInput(err)
	}
	return record.Run{}, cannot(err)
}

// leastFormed is from which volts on a run that was cut off counts as begun: below, it is
// simply repeated.
const leastFormed = 2 * unit.Volts(1)

// formedIn is what the parts of a run are formed to now: what the rack said, or, of a run
// that was cut off, what its film had reached.
func formedIn(rack profiles.Rack, run record.Run) unit.Volts {
	result := run.Result
	if result.Outcome != record.Interrupted || result.HighestVolts == nil {
		return rack.FormedTo
	}
	formed := min(unit.Volts(math.Floor(10**result.HighestVolts)/10), run.Intent.Plan.TargetVolts)
	if formed < leastFormed {
		return rack.FormedTo
	}
	return max(formed, rack.FormedTo)
}

// continueOn makes the rack of a run that was cut off one whose parts carry a film. It
// goes on as a new run, that a person starts.
func continueOn(e env, rack *profiles.Rack, cut record.Run) error {
	formed := formedIn(*rack, cut)
	if formed == rack.FormedTo {
		return nil
	}
	rack.FormedTo = formed
	_, err := fmt.Fprintf(e.stderr, "anodized: run %s was cut off: planned to go on, on the same parts, formed to %v; where other parts hang, give --new-parts\n", cut.ID, formed)
	return err
}
