package main

import (
	"encoding/json"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/controller/report"
	"anodized/controller/review"
)

func init() { commands = append(commands, newReviewCommand) }

type reviewFlags struct {
	planFlags
	journal, curve, area, plot string
	json                       bool
}

func newReviewCommand(e env) *cobra.Command {
	var f reviewFlags
	command := &cobra.Command{
		Use:   "review [RUN|last]",
		Short: "what a recorded run or a curve file says: estimates, verdict, plot",
		Long: "Reviews a run of the journal, or a curve from elsewhere, with the code that watches a\n" +
			"load: is the curve usable, how did it end, what are the estimates, what was found, and\n" +
			"what no curve can show. The electrical verdict and the colour are kept apart.\n\n" +
			"A curve file has the header t_s,volts,amperes and optionally set_volts, limit_amperes,\n" +
			"bath_c, metered_volts, simulated (1 where it is). Without --profile the target and the pace are those of the curve, and the end\n" +
			"is that of the default profile: the review says what it assumed.",
		Example: `  anodized review last
  anodized review 12 --plot run-12.svg
  anodized review --curve curve.csv --area "199.8 cm2" --json
  anodized review --curve curve.csv --rack my-rack.yaml --profile "second-order purple"`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(command *cobra.Command, args []string) error { return runReview(e, f, args) },
	}
	f.registerAll(command)
	return command
}

func (f *reviewFlags) registerAll(command *cobra.Command) {
	flags := command.Flags()
	flags.StringVar(&f.journal, "journal", "", "journal, if not the usual one")
	flags.StringVar(&f.curve, "curve", "", "curve file, or - for standard input, in place of a run")
	flags.StringVar(&f.area, "area", "", `wetted area of the curve's load, such as "199.8 cm2"`)
	flags.StringVar(&f.profile, "profile", "", "profile of the curve's load: an embedded one by its name, or a file")
	flags.StringVar(&f.rack, "rack", "", "rack of the curve's load: an embedded one by its name, or a file")
	flags.StringVar(&f.metal, "metal", "", "metal of the curve's load, if not the profile's")
	flags.StringVar(&f.bath, "bath", "", "bath of the curve's load, if not the profile's")
	flags.StringVar(&f.calibration, "calibration", "", "calibration for the curve's load, if not the metal's book one")
	flags.StringVar(&f.plot, "plot", "", "draw it into FILE.svg or FILE.png")
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
}

// reviewed is a review with the run that it is of: a curve is made into one.
type reviewed struct {
	run    record.Run
	review review.Review
	colour colourBeside
}

// MarshalJSON puts the match of the run's readings beside the review.
func (one reviewed) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		review.Review
		colourBeside
	}{one.review, one.colour})
}

func runReview(e env, f reviewFlags, args []string) error {
	if err := f.check(args); err != nil {
		return badInput(err)
	}
	var one reviewed
	var err error
	if f.curve != "" {
		one, err = reviewCurve(e, f)
	} else {
		one, err = reviewRun(e, f, args[0])
	}
	if err != nil {
		return err
	}
	if err := drawReviewed(f.plot, one); err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, one)
	}
	return printReview(e.stdout, one)
}

func (f reviewFlags) check(args []string) error {
	foreign := f.area + f.profile + f.rack + f.metal + f.bath + f.calibration
	switch {
	case f.curve == "" && len(args) == 0:
		return errors.New("review what? Name a run (a number, or last), or a curve with --curve FILE")
	case f.curve != "" && len(args) > 0:
		return fmt.Errorf("review either the run %q or the curve %q, not both", args[0], f.curve)
	case f.curve == "" && foreign != "":
		return errors.New("--area, --profile, --rack, --metal, --bath and --calibration belong to --curve: a run keeps its own")
	case f.curve != "" && f.area == "" && f.rack == "":
		return errors.New(`a curve needs its wetted area: --area "199.8 cm2", or --rack`)
	case f.curve == "-" && (f.profile == "-" || f.rack == "-"):
		return errors.New("only one of --curve, --profile and --rack can be -: standard input holds one file")
	}
	if f.plot == "" {
		return nil
	}
	_, err := report.FormatOf(f.plot)
	return err
}

func reviewRun(e env, f reviewFlags, name string) (reviewed, error) {
	run, kept, err := runWithReadings(e, f.journal, name)
	if errors.Is(err, journal.ErrNoJournal) {
		return reviewed{}, cannot(err)
	}
	if err != nil {
		return reviewed{}, err
	}
	return reviewedWith(e, f.journal, run, kept), nil
}

// reviewedWith is the review of a run with the match of its readings.
func reviewedWith(e env, journalFlag string, run record.Run, kept []record.KeptReading) reviewed {
	one := reviewed{run: run, review: review.OfRun(run), colour: besideRun(e, journalFlag, run, kept, goalFlags{})}
	if one.colour.Match != nil {
		one.review.Verdict.Colour = string(one.colour.Match.Verdict)
	}
	return one
}

func readRun(path, name string) (record.Run, error) {
	reader, err := openReading(path)
	if err != nil {
		return record.Run{}, fmt.Errorf("open the journal: %w", err)
	}
	run, err := reader.Run(name)
	return run, errors.Join(err, reader.Close())
}
