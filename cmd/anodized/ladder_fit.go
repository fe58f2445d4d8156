package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"anodized/controller/calibrate"
	"anodized/controller/report"
	"anodized/hal/unit"
	"anodized/profiles"
)

type ladderFitFlags struct {
	metal, film, substrate, bath, finish  string
	id, date, scale, out, plot, journal   string
	by, note                              string
	end                                   unit.Flag[unit.CurrentDensity]
	ramp                                  unit.Flag[unit.VoltsPerSecond]
	temperature                           unit.Flag[unit.Celsius]
	chooseTables, simulated, save, asJSON bool
}

func newLadderFitCommand(e env) *cobra.Command {
	f := &ladderFitFlags{}
	command := &cobra.Command{
		Use:   "fit READINGS",
		Short: "fit the calibration of a bath to the colours of its coupons",
		Long: "Reads the colours of a ladder, as CSV (volts,L,a,b and optionally end_ma_cm2, spot), as\n" +
			"CGATS.17 text or CxF3 of a colour instrument, or in a ladder file, and fits nm/V and offset,\n" +
			"with standard deviations. A reading that cannot be right is named, with its likely cause,\n" +
			"and left out. Colour fixes the product of index and thickness, so nm/V are those of the\n" +
			"optical table; a scale of its index is fitted where the readings themselves show one.\n\n" +
			"Exit status: 0 the readings determine the calibration; 1 they do not, and nothing is\n" +
			"written or kept; 2 bad input.",
		Example: `  anodized ladder fit readings.csv --metal titanium-grade-5 --json
  anodized ladder fit readings.csv --end "0.15 mA/cm2" --bath bicarbonate --finish "fine blasted" --out calibration.yaml
  anodized ladder fit readings.cxf --choose-tables --plot fit.svg
  anodized ladder fit ladder.yaml --save --by Ida`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return fitLadder(e, f, args[0]) },
	}
	f.register(command.Flags())
	return command
}

func (f *ladderFitFlags) register(flags *pflag.FlagSet) {
	flags.StringVar(&f.metal, "metal", "", "metal of the coupons: an embedded one by its id, or a file (default "+profiles.DefaultMetal+", or that of the ladder file)")
	flags.StringVar(&f.film, "film", "", "optical table of the film, if not the metal's")
	flags.StringVar(&f.substrate, "substrate", "", "optical table of the metal, if not the metal's")
	flags.BoolVar(&f.chooseTables, "choose-tables", false, "take those optical tables of this oxide and metal that describe the readings best")
	flags.StringVar(&f.scale, "index-scale", "by-readings", "scale of the film's index: by-readings, fixed (at 1), or free")
	flags.Var(&f.end, "end", "current density at the end of the hold, of readings that do not say theirs (default that of the profile "+profiles.DefaultProfile+")")
	flags.StringVar(&f.bath, "bath", "", "bath of the ladder, for the calibration")
	flags.StringVar(&f.finish, "finish", "", "finish of the coupons, for the calibration")
	flags.Var(&f.ramp, "ramp", "ramp of the ladder, for the calibration")
	flags.Var(&f.temperature, "temperature", "of the bath, for the calibration")
	flags.StringVar(&f.date, "date", "", "of the ladder, year-month-day (default today)")
	flags.StringVar(&f.id, "id", "", "name of the calibration (default ladder- and the date)")
	flags.BoolVar(&f.simulated, "simulated", false, "the readings are SIMULATED: so is the calibration, and it feeds no real bench")
	flags.StringVar(&f.out, "out", "", "write the calibration into this file, which plan --calibration reads")
	flags.StringVar(&f.plot, "plot", "", "draw readings, fit and residuals into FILE.svg or FILE.png")
	flags.BoolVar(&f.save, "save", false, "keep the calibration in the journal")
	flags.StringVar(&f.journal, "journal", "", "journal for --save, and with the runs of a ladder file, if not the usual one")
	flags.StringVar(&f.by, "by", "", "with --save: who fitted it")
	flags.StringVar(&f.note, "note", "", "with --save: a note")
	flags.BoolVar(&f.asJSON, "json", false, "print one JSON object")
}

func (f *ladderFitFlags) check() error {
	if err := errors.Join(nameFlag("by", f.by), plainFlag("note", f.note)); err != nil {
		return err
	}
	_, known := scaleChoices[f.scale]
	switch {
	case !known:
		return fmt.Errorf("--index-scale %q: by-readings, fixed or free", f.scale)
	case f.chooseTables && (f.film != "" || f.substrate != ""):
		return errors.New("--choose-tables chooses --film and --substrate: leave these out")
	case f.end.Given && f.end.Value <= 0:
		return fmt.Errorf("--end is %s, it must be above 0 mA/cm2", unit.Format(f.end.Value))
	case !f.save && (f.by != "" || f.note != ""):
		return errors.New("--by and --note go with --save")
	case f.date != "":
		if _, err := time.Parse(time.DateOnly, f.date); err != nil {
			return fmt.Errorf("--date %q: year-month-day is needed, as in 2026-03-02", f.date)
		}
	}
	if f.plot != "" {
		_, err := report.FormatOf(f.plot)
		return err
	}
	return nil
}

var scaleChoices = map[string]calibrate.ScaleChoice{
	"by-readings": calibrate.ScaleByReadings, "fixed": calibrate.ScaleFixed, "free": calibrate.ScaleFree,
}

// fitLadder fits, shows, and writes what is good.
func fitLadder(e env, f *ladderFitFlags, file string) error {
	if err := f.check(); err != nil {
		return badInput(err)
	}
	work, err := openLadderFit(e, f, file)
	if errors.As(err, new(statusError)) {
		return err
	}
	if err != nil {
		return badInput(err)
	}
	switch err := work.fitIt(); {
	case errors.Is(err, calibrate.ErrTooFew):
		return notRight(err)
	case err != nil:
		return badInput(err)
	}
	if err := work.openEfficiency(); err != nil {
		return cannot(err)
	}
	if err := work.calibration.Check(); err == nil && work.good() {
		if err := work.keep(e); err != nil {
			return err
		}
	}
	if err := errors.Join(work.plot(), work.show(e)); err != nil {
		return err
	}
	return work.verdict()
}

// good tells whether the fit is worth keeping.
func (w *ladderFit) good() bool {
	return w.fit.Verdict == calibrate.Good || w.fit.Verdict == calibrate.Local
}

// verdict is the error of a fit that determines nothing.
func (w *ladderFit) verdict() error {
	if w.good() {
		return nil
	}
	reason, kept := w.fit.Reasons[len(w.fit.Reasons)-1], ""
	if w.flags.out != "" || w.flags.save {
		kept = "; nothing was written or kept"
	}
	return notRight(fmt.Errorf("the calibration is %s: %s%s", w.fit.Verdict, reason, kept))
}
