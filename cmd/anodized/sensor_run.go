package main

import (
	"errors"
	"fmt"
	"math"

	"github.com/spf13/pflag"

	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// sensed is a reading, and what is attached to its run with it.
type sensed struct {
	reading
	Attached *listedReadings `json:"attached,omitempty"`
}

func (f *sensorFlags) registerRun(flags *pflag.FlagSet) {
	flags.StringVar(&f.run, "run", "", "attach the reading to this recorded run, by its number or last")
	flags.StringVar(&f.journal, "journal", "", "journal that holds --run, if not the usual one")
	flags.StringVar(&f.about.part, "part", "", "with --run: which part")
	flags.StringVar(&f.about.spot, "spot", "", "with --run: where on it")
	flags.StringVar(&f.about.taken.Geometry, "geometry", "", "with --run: how the sensor looks at the part, 45/0, d/8")
	flags.StringVar(&f.about.taken.Specular, "specular", "", "with --run: included or excluded")
	flags.StringVar(&f.about.by, "by", "", "with --run: who measured")
	flags.StringVar(&f.about.note, "note", "", "with --run: a note")
	f.about.goal.register(flags)
}

// checkRun looks at the flags of a run alone.
func (f *sensorFlags) checkRun(flags *pflag.FlagSet) error {
	if f.run == "" {
		for _, name := range []string{"part", "spot", "geometry", "specular", "by", "note", "master", "master-file", "tolerance", "journal"} {
			if flags.Changed(name) {
				return fmt.Errorf("--%s goes with --run: name the run that the part is of", name)
			}
		}
		return nil
	}
	about := f.about
	about.part, about.spot = "", "" // typed with --lab there
	return errors.Join(plainFlag("part", f.about.part), plainFlag("spot", f.about.spot), about.check([]string{f.run}))
}

// openRun finds the run that the part is of before anything is laid under the sensor. The
// virtual sensor looks at a part of that run then.
func (f *sensorFlags) openRun(e env) (*record.Run, error) {
	if f.run == "" {
		return nil, nil
	}
	run, _, err := runWithReadings(e, f.journal, f.run)
	if err != nil {
		return nil, err
	}
	if run.Result.Outcome == record.Refused {
		return nil, badInput(fmt.Errorf("run %s was refused and never energised: it coloured nothing", run.ID))
	}
	if f.bench == "" && !run.Intent.Simulated {
		return nil, badInput(fmt.Errorf("run %s is of a real bench, and the sensor without --bench is SIMULATED: nothing simulated goes into its record", run.ID))
	}
	if !f.formed.Given {
		f.formed.Value = voltsOfRun(run)
	}
	return &run, nil
}

// attach keeps a reading with its run; nothing where there is none.
func (f *sensorFlags) attach(e env, run *record.Run, instrument string, r reading) (*listedReadings, error) {
	if run == nil {
		return nil, nil
	}
	taken := f.about
	taken.taken.Instrument, taken.taken.Illuminant, taken.taken.Observer = fmt.Sprintf("%s of %d bands", instrument, len(r.Bands)), r.Illuminant, "2"
	one := profiles.ColourReading{Part: taken.part, Spot: taken.spot, Volts: unit.Volts(math.NaN()), End: unit.CurrentDensity(math.NaN()), Lab: &r.Lab,
		Error: &profiles.StatedError{Median: r.Error.Median, P95: r.Error.P95}, Conditions: taken.filled(profiles.Conditions{})}
	if err := saveReadings(e, runsFlags{journal: f.journal}, taken, run.ID, []profiles.ColourReading{one}); err != nil {
		return nil, err
	}
	again, kept, err := runWithReadings(e, f.journal, run.ID)
	if err != nil {
		return nil, err
	}
	return listedOf(e, f.journal, f.about.goal, again, kept), nil
}
