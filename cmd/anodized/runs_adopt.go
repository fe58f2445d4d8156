package main

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
)

// adoptFlags are those of runs adopt-area.
type adoptFlags struct {
	operator, note string
	withdraw       bool
}

func newAdoptAreaCommand(e env, f *runsFlags) *cobra.Command {
	var a adoptFlags
	command := &cobra.Command{
		Use:   "adopt-area RUN",
		Short: "let the live area of a rack's good loads set the end of its later ones",
		Long: "Five good loads of a rack or more, the newest like the run that is named, show a live\n" +
			"area. Adopting it is your act, kept with your name and the time: later plans of this rack\n" +
			"reckon the end current on it. The current limit stays that of the declared area. It is\n" +
			"refused while the calibration is a book value, for the live area is only as true as the\n" +
			"nm per volt. A curve cannot tell area from efficiency: the live area is the wetted one\n" +
			"where the calibration knows the efficiency from its coupons (ladder fit, with the journal\n" +
			"of its runs), and area over efficiency where it does not.",
		Example: `  anodized runs adopt-area last --operator Ida
  anodized runs adopt-area last --operator Ida --withdraw`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return adoptArea(e, *f, a, args[0]) },
	}
	command.Flags().StringVar(&a.operator, "operator", "", "who adopts it")
	command.Flags().StringVar(&a.note, "note", "", "a note for the record")
	command.Flags().BoolVar(&a.withdraw, "withdraw", false, "let the declared area count again")
	return command
}

func adoptArea(e env, f runsFlags, a adoptFlags, name string) error {
	if a.operator = strings.TrimSpace(a.operator); a.operator == "" {
		return badInput(errors.New("--operator is needed: an area is adopted by a person"))
	}
	if err := errors.Join(nameFlag("operator", a.operator), plainFlag("note", a.note)); err != nil {
		return badInput(err)
	}
	path, err := journalPath(e, f.journal)
	if err != nil {
		return err
	}
	one, err := areaToAdopt(shelf(path), a, name)
	if err != nil {
		return badInput(fmt.Errorf("adopt the area of run %s: %w", name, err))
	}
	if err := keepArea(path, one); err != nil {
		return cannot(err)
	}
	if f.json {
		return printJSON(e.stdout, one)
	}
	if one.Withdrawn {
		_, err = fmt.Fprintf(e.stdout, "%s: the declared area sets the end again, says %s\n", one.Rack, one.By)
		return err
	}
	_, err = fmt.Fprintf(e.stdout, "%s: the end is reckoned on %s, +-%s, from %d good loads; declared are %s. The current limit stays. Adopted by %s.\n",
		one.Rack, shown(one.Area), shown(one.SD), one.Loads, shown(one.Declared), one.By)
	return err
}

// areaToAdopt is what the good loads like a run showed.
func areaToAdopt(from shelf, a adoptFlags, name string) (one record.AdoptedArea, err error) {
	err = from.read(func(r *journal.Reader) error {
		run, err := r.Run(name)
		if err != nil {
			return err
		}
		if a.withdraw {
			made := run.Intent.Plan
			one = record.AdoptedArea{Rack: made.Rack, Declared: made.Area, Run: run.ID, Calibration: made.Calibration.ID, Simulated: run.Intent.Simulated, Withdrawn: true}
			return nil
		}
		one, err = r.AreaOf(run)
		return err
	})
	one.SavedAt, one.By, one.Note = time.Now(), a.operator, a.note
	return one, err
}

func keepArea(path string, one record.AdoptedArea) error {
	kept, err := journal.Open(path, journal.Options{})
	if err != nil {
		return err
	}
	return errors.Join(kept.AdoptArea(one), kept.Close())
}

// adopted is the area that a person adopted for a rack, nil for none. A journal that is
// not there, or is damaged, tells of none: the declared area counts.
func (s shelf) adopted(rack string) (one *plan.Adopted, err error) {
	err = s.read(func(r *journal.Reader) (err error) {
		one, err = r.Adopted(rack)
		return err
	})
	if errors.Is(err, journal.ErrNoJournal) || errors.Is(err, journal.ErrDamaged) {
		return nil, nil
	}
	return one, err
}
