package main

import (
	"errors"
	"fmt"

	"github.com/spf13/pflag"

	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/profiles"
)

// repeatFlags say which recorded run is to be repeated.
type repeatFlags struct {
	run, journal string
}

func (f *repeatFlags) register(flags *pflag.FlagSet) {
	flags.StringVar(&f.run, "from", "", "repeat a recorded run, by its number or last: its frozen profile, rack, bath and calibration")
}

// assembleOr makes the request of a plan from a recorded run where one is named,
// else from what the flags name.
func assembleOr(e env, f planFlags, from repeatFlags) (plan.Request, frozen, error) {
	if from.run == "" {
		return assemble(f, e.stdin)
	}
	if f != (planFlags{profile: profiles.DefaultProfile, rack: profiles.DefaultRack, bench: f.bench}) {
		return plan.Request{}, frozen{}, badInput(errors.New("--from repeats a run as it was: leave out --profile, --rack, --metal, --bath and --calibration, or leave out --from"))
	}
	recorded, err := recordedRun(e, from)
	if err != nil {
		return plan.Request{}, frozen{}, err
	}
	in := recorded.Intent
	kept := frozen{Profile: in.Profile, Rack: in.Rack, Metal: in.Metal, Bath: in.Bath, Calibration: in.Calibration}
	if err := kept.openBench(f.bench); err != nil {
		return plan.Request{}, kept, badInput(err)
	}
	request, err := kept.request()
	if err == nil && in.Simulated && !request.Simulated {
		err = badInput(fmt.Errorf("run %s is SIMULATED: nothing simulated feeds a plan for a real bench; name the profile and the rack", recorded.ID))
	}
	return request, kept, err
}

func recordedRun(e env, from repeatFlags) (record.Run, error) {
	path, err := journalPath(e, from.journal)
	if err != nil {
		return record.Run{}, err
	}
	run, err := readRun(path, from.run)
	if err != nil {
		return record.Run{}, badInput(fmt.Errorf("repeat run %q: %w", from.run, err))
	}
	return run, nil
}
