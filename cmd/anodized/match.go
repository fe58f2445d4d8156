package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"anodized/controller/colour"
	"anodized/controller/match"
	"anodized/hal/unit"
)

func init() { commands = append(commands, newMatchCommand) }

type matchFlags struct {
	colour                      colourFlags // metal, calibration, tables, end
	volts                       unit.Flag[unit.Volts]
	measured, set, run, journal string
	goal                        goalFlags
	readingSD                   float64
	limits                      match.Limits
	stripped                    int
	json                        bool
}

// goalFlags say which colour is to be reached.
type goalFlags struct {
	master, file string
	tolerance    float64
	read         *goalRead // before it is needed; nil: it is not yet
}

// goalRead is the master that the flags name; no goal where they name none.
type goalRead struct {
	goal *match.Goal
	name string
}

func newMatchCommand(e env) *cobra.Command {
	f := &matchFlags{colour: *newColourFlags()}
	f.colour.illuminant = "D65" // what readings are compared under
	command := &cobra.Command{
		Use:   "match",
		Short: "from a measured and a wanted colour: accept, step up by how much, or overshot",
		Long: "Says of a piece whose colour was measured (CIELAB, D65, 2 degree observer) whether it is\n" +
			"within what is allowed of the master, by how many volts to grow it on, or that it is past\n" +
			"it. The volts of its last run decide the order. A step is made so small that it does not\n" +
			"pass the master by more than what is allowed; nothing goes back but by stripping. With\n" +
			"--set each piece of a set is compared with each other and with the master, and the piece\n" +
			"furthest ahead sets the goal of the others. With --run volts, end and calibration are\n" +
			"those of a recorded run, and its attached readings are the pieces (anodized runs read).\n\n" +
			"Exit status: 0 accept, or step up; 1 nothing that volts can do; 2 bad input.",
		Example: `  anodized match --volts "49 V" --measured "83.15, -9.03, 23.72" --master "82.79, -9.26, 27.82"
  anodized match --set readings.cxf --volts "49 V" --master-file clamp.yaml
  anodized match --run last --master-file clamp.yaml --json`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return runMatch(e, f) },
	}
	f.register(command.Flags())
	return command
}

func (f *matchFlags) register(flags *pflag.FlagSet) {
	flags.Var(&f.volts, "volts", "of the last run of the piece, or of each piece of --set that does not say its own")
	flags.StringVar(&f.measured, "measured", "", `the piece's colour, CIELAB "L,a,b"`)
	flags.StringVar(&f.set, "set", "", "colour readings of a set: CSV (L,a,b and optionally volts, part), CGATS.17 or CxF3, or -")
	flags.StringVar(&f.run, "run", "", "the recorded run of the pieces, by its number or last: its volts, end and calibration, and its readings where none are given")
	f.goal.register(flags)
	f.colour.registerBasis(flags)
	flags.StringVar(&f.journal, "journal", "", "journal that holds --run and keeps --calibration, if not the usual one")
	flags.Float64Var(&f.readingSD, "reading-sd", match.UsualSD, "standard deviation of a reading, of each axis of CIELAB")
	f.limits = match.UsualLimits()
	flags.Float64Var(&f.limits.PairWarn, "pair-warn", f.limits.PairWarn, "--set: CIEDE2000 of a pair that warns")
	flags.Float64Var(&f.limits.PairReject, "pair-reject", f.limits.PairReject, "--set: CIEDE2000 of a pair that is not taken")
	flags.Float64Var(&f.limits.MasterWarn, "master-warn", f.limits.MasterWarn, "--set: CIEDE2000 to the master that warns")
	flags.Float64Var(&f.limits.MasterReject, "master-reject", f.limits.MasterReject, "--set: CIEDE2000 to the master that is not taken")
	flags.IntVar(&f.stripped, "stripped", 0, "how often the piece was stripped before, for the count")
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
}

func (g *goalFlags) register(flags *pflag.FlagSet) {
	flags.StringVar(&g.master, "master", "", `the colour to match, CIELAB "L,a,b"`)
	flags.StringVar(&g.file, "master-file", "", "a master with its limit samples, or -")
	flags.Float64Var(&g.tolerance, "tolerance", 0, fmt.Sprintf("CIEDE2000 up to which a piece is taken (default %g, or that of --master-file)", match.UsualTolerance))
}

func (g goalFlags) check() error {
	switch {
	case g.master != "" && g.file != "":
		return errors.New("--master and --master-file: give one of the two")
	case !(g.tolerance == 0 || (g.tolerance >= 0.05 && g.tolerance <= 10)):
		return fmt.Errorf("--tolerance is %g: CIEDE2000, from 0.05 to 10", g.tolerance)
	}
	return nil
}

func (f *matchFlags) check() error {
	l := f.limits
	switch {
	case f.measured != "" && f.set != "":
		return errors.New("--measured is of one piece and --set of several: give one of the two")
	case f.measured == "" && f.set == "" && f.run == "":
		return errors.New("whose colour? give --measured, --set, or --run with readings attached")
	case f.volts.Given && !(f.volts.Value > 0 && f.volts.Value <= mostColourVolts):
		return fmt.Errorf("--volts is %s, it is above 0 V, to %s", unit.Format(f.volts.Value), unit.Format(mostColourVolts))
	case !f.volts.Given && f.run == "" && f.set == "":
		return errors.New("--volts is needed: colour alone does not tell the order")
	case !f.goal.given() && f.run == "" && f.set == "":
		return errors.New("what shall it match? give --master or --master-file")
	case f.run != "" && (f.colour.metal != "" || f.colour.calibration != "" || f.colour.end.Given):
		return errors.New("--run brings metal, calibration and end with it: leave out --metal, --calibration and --end")
	case !(f.readingSD >= 0.01 && f.readingSD <= 5):
		return fmt.Errorf("--reading-sd is %g: from 0.01 to 5", f.readingSD)
	case !(l.PairWarn > 0 && l.PairWarn <= l.PairReject && l.MasterWarn > 0 && l.MasterWarn <= l.MasterReject && l.PairReject <= 20 && l.MasterReject <= 20):
		return errors.New("the limits of a set: what warns is above 0 and not above what is not taken, 20 at most")
	case f.stripped < 0 || f.stripped > 100:
		return fmt.Errorf("--stripped is %d: from 0 to 100", f.stripped)
	}
	return errors.Join(f.goal.check(), f.colour.checkEnd())
}

func (g goalFlags) given() bool { return g.master != "" || g.file != "" }

func runMatch(e env, f *matchFlags) error {
	if err := f.check(); err != nil {
		return badInput(err)
	}
	f.colour.journal = f.journal
	w, err := openMatch(e, f)
	if err != nil {
		return err
	}
	if err := w.tellNotes(e); err != nil {
		return err
	}
	if len(w.pieces) == 1 && f.set == "" {
		return w.one(e)
	}
	return w.several(e)
}

// labFlag reads "L,a,b".
func labFlag(flag, text string) (colour.Lab, error) {
	lab, err := labOf(text)
	if err != nil {
		return colour.Lab{}, fmt.Errorf(`--%s is %q: %w: write CIELAB as "L,a,b", L from 0 to 100, a and b from -150 to 150`, flag, text, err)
	}
	return lab, nil
}

// basisOf is what films and volts are reckoned by.
func (b *colourBasis) basisOf() match.Basis {
	factor := b.scale.NMPerVolt / b.calibration.NMPerVolt
	return match.Basis{Surface: b.surface, Scale: b.scale, SlopeSD: b.calibration.NMPerVoltSD * factor,
		OffsetSD: b.calibration.OffsetSD, Relation: b.calibration.Correlation}
}
