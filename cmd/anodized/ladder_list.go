package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

type listFlags struct {
	journal, metal string
	json           bool
}

func newLadderListCommand(e env) *cobra.Command {
	var f listFlags
	command := &cobra.Command{
		Use:   "list",
		Short: "list the calibrations of the shop: what each is for, and how it stands today",
		Long: "Lists the calibrations that ladder fit --save kept, the newest first, by what plan chooses\n" +
			"them by: metal, finish, bath, end, temperature and date. The verdict is today's: good; local,\n" +
			"for its own volts only; poor, where it misses its own coupons; stale, where it is too old. Any\n" +
			"of them may be named: plan, colour and match take --calibration ID.",
		Example: `  anodized ladder list
  anodized ladder list --metal niobium --json
  anodized colour --chart "0 V..110 V" --calibration ladder-2026-03-02`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return listCalibrations(e, f) },
	}
	flags := command.Flags()
	flags.StringVar(&f.journal, "journal", "", "journal, if not the usual one")
	flags.StringVar(&f.metal, "metal", "", "those of this metal alone, by its id")
	flags.BoolVar(&f.json, "json", false, "print one JSON object")
	return command
}

// listedCalibration is a calibration of the shop without the readings that it was fitted
// to, which journal export gives.
type listedCalibration struct {
	record.KeptCalibration
	Verdict plan.Standing `json:"verdict"` // today
	Why     []string      `json:"why"`
	Age     *int          `json:"age_days"` // null where its date is not known
}

func listCalibrations(e env, f listFlags) error {
	path, err := journalPath(e, f.journal)
	if err != nil {
		return err
	}
	var kept []record.KeptCalibration
	err = shelf(path).read(func(r *journal.Reader) (err error) {
		kept, err = r.Calibrations()
		return err
	})
	if err != nil && !errors.Is(err, journal.ErrNoJournal) {
		return cannot(err)
	}
	list := []listedCalibration{}
	for _, one := range kept {
		if f.metal == "" || one.Calibration.Metal == f.metal {
			list = append(list, calibrationOn(one, today()))
		}
	}
	if f.json {
		return printJSON(e.stdout, map[string]any{"calibrations": list})
	}
	if len(list) == 0 && len(kept) > 0 {
		_, err := fmt.Fprintf(e.stdout, "no calibration of %q is kept, and %d of other metals are: leave out --metal to see them\n", f.metal, len(kept))
		return err
	}
	if len(list) == 0 {
		_, err := fmt.Fprintln(e.stdout, "no calibration of the shop is kept: anodized ladder plan begins one, and ladder fit --save keeps it")
		return err
	}
	return printCalibrations(e.stdout, list)
}

func calibrationOn(one record.KeptCalibration, day string) listedCalibration {
	one.Readings = nil
	l := listedCalibration{KeptCalibration: one}
	l.Verdict, l.Why = plan.StandingOf(one.Calibration, day)
	l.Why = orNone(l.Why)
	if age, known := plan.AgeInDays(one.Calibration.Date, day); known {
		l.Age = &age
	}
	return l
}

func printCalibrations(w io.Writer, list []listedCalibration) error {
	t := newTable(w)
	t.row("calibration\tmetal\tfinish\tbath\tend\ttemperature\tdate\tvolts\tnm/V\tverdict\t")
	for _, l := range list {
		c := l.Calibration
		t.row("%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%.4g +- %.2g\t%s\t%s", c.ID, c.Metal, or(c.Finish, "not said"), or(c.Bath, "not said"), unit.Format(c.EndCurrentDensity),
			temperatureText(c), or(c.Date, "not said"), rangeText(c), c.NMPerVolt, c.NMPerVoltSD, l.Verdict, markOf(c.Simulated))
	}
	for _, l := range list {
		for _, why := range l.Why {
			t.row("")
			t.row("%s: %s", l.Calibration.ID, why)
		}
	}
	return t.done()
}

func temperatureText(c profiles.Calibration) string {
	if c.Temperature == 0 {
		return "not said"
	}
	return unit.Format(c.Temperature)
}

func rangeText(c profiles.Calibration) string {
	if c.ToVolts == 0 {
		return "not said"
	}
	return fmt.Sprintf("%s to %s", unit.Format(c.FromVolts), unit.Format(c.ToVolts))
}
