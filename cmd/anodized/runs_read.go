package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"github.com/spf13/cobra"

	"anodized/controller/colour"
	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

type readFlags struct {
	lab, part, spot, by, note string
	taken                     profiles.Conditions
	goal                      goalFlags // of the match beside them
}

func newRunsReadCommand(e env, f *runsFlags) *cobra.Command {
	var r readFlags
	command := &cobra.Command{
		Use:   "read RUN [FILE]",
		Short: "attach colour readings to a run and its parts, or list those attached",
		Long: "Attaches the colours of the parts of a run, typed with --lab or from a FILE of readings\n" +
			"(CSV with L,a,b and part; CGATS.17; CxF3; or -), for D65 and the 2 degree observer. Say how\n" +
			"they were taken: a polished part shows its colour in the specular beam, so measure with\n" +
			"it included, and always alike. Without either it lists what is attached. Readings are never\n" +
			"changed or taken out: a spot read again is another reading, and the last one counts.\n\n" +
			"Beside them stands how the parts match: the master that is named, or else what the plan of\n" +
			"the run expected. The exit status is about the readings; that of match is about the parts.",
		Example: `  anodized runs read last --lab "83.15, -9.03, 23.72" --part "seat clamp" --geometry d/8 --specular included
  anodized runs read 12 readings.cxf --by Ida --master-file clamp.yaml
  anodized runs read 12 --json`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(_ *cobra.Command, args []string) error { return readColours(e, *f, r, args) },
	}
	flags := command.Flags()
	flags.StringVar(&r.lab, "lab", "", `the colour, CIELAB "L,a,b"`)
	flags.StringVar(&r.part, "part", "", "with --lab: which part")
	flags.StringVar(&r.spot, "spot", "", "with --lab: where on it")
	flags.StringVar(&r.taken.Instrument, "instrument", "", "what measured, where the file does not say")
	flags.StringVar(&r.taken.Geometry, "geometry", "", "how it looked: 45/0, d/8, where the file does not say")
	flags.StringVar(&r.taken.Specular, "specular", "", "included or excluded, where the file does not say")
	flags.StringVar(&r.taken.Illuminant, "illuminant", "D65", "of the numbers, where the file does not say")
	flags.StringVar(&r.taken.Observer, "observer", "2", "degrees, where the file does not say")
	flags.StringVar(&r.taken.Date, "date", "", "of the reading, year-month-day, where the file does not say (default today)")
	flags.StringVar(&r.by, "by", "", "who measured")
	flags.StringVar(&r.note, "note", "", "a note")
	r.goal.register(flags)
	return command
}

func (r readFlags) check(args []string) error {
	switch {
	case r.lab != "" && len(args) > 1:
		return errors.New("--lab types one colour and a FILE holds many: give one of the two")
	case r.lab == "" && (r.part != "" || r.spot != ""):
		return errors.New("--part and --spot go with --lab")
	case r.goal.file == "-" && len(args) > 1 && args[1] == "-":
		return errors.New("FILE and --master-file are both -: standard input holds one file")
	case r.taken.Specular != "" && r.taken.Specular != "included" && r.taken.Specular != "excluded":
		return fmt.Errorf("--specular %q: included or excluded", r.taken.Specular)
	}
	if r.taken.Date != "" {
		if _, err := time.Parse(time.DateOnly, r.taken.Date); err != nil {
			return fmt.Errorf("--date %q: year-month-day is needed, as in 2026-03-02", r.taken.Date)
		}
	}
	for name, words := range map[string]string{"part": r.part, "spot": r.spot, "instrument": r.taken.Instrument, "geometry": r.taken.Geometry,
		"illuminant": r.taken.Illuminant, "observer": r.taken.Observer, "note": r.note} {
		if err := plainFlag(name, words); err != nil {
			return err
		}
	}
	return errors.Join(nameFlag("by", r.by), r.goal.check())
}

func readColours(e env, f runsFlags, r readFlags, args []string) error {
	if err := r.check(args); err != nil {
		return badInput(err)
	}
	run, kept, err := runWithReadings(e, f.journal, args[0])
	if err != nil {
		return err
	}
	if r.goal, err = r.goal.ahead(e, run.Intent.Metal.ID); err != nil {
		return badInput(err)
	}
	if r.lab == "" && len(args) == 1 {
		return listReadings(e, f, r.goal, run, kept)
	}
	readings, notes, err := r.readings(e, args)
	if err != nil {
		return badInput(err)
	}
	for _, note := range notes {
		fmt.Fprintf(e.stderr, "anodized: %s\n", note)
	}
	if err := saveReadings(e, f, r, run.ID, readings); err != nil {
		return err
	}
	if run, kept, err = runWithReadings(e, f.journal, run.ID); err != nil {
		return err
	}
	return listReadings(e, f, r.goal, run, kept)
}

// readings are those that are to be attached. One that cannot be compared with others
// is refused here, not when it is needed.
func (r readFlags) readings(e env, args []string) ([]profiles.ColourReading, []string, error) {
	var readings []profiles.ColourReading
	if r.lab != "" {
		lab, err := labFlag("lab", r.lab)
		if err != nil {
			return nil, nil, err
		}
		array := lab.Array()
		readings = []profiles.ColourReading{{Part: r.part, Spot: r.spot, Volts: unit.Volts(math.NaN()), End: unit.CurrentDensity(math.NaN()), Lab: &array, At: profiles.Place{File: "--lab", Line: 1, Column: 1}}}
	} else {
		var err error
		if readings, err = profiles.OpenReadings(args[1], e.stdin); err != nil {
			return nil, nil, err
		}
	}
	for i := range readings {
		readings[i].Conditions = r.filled(readings[i].Conditions)
	}
	_, notes, err := colour.Readings(readings)
	return readings, notes, err
}

// filled takes from the flags what a file does not say.
func (r readFlags) filled(c profiles.Conditions) profiles.Conditions {
	return profiles.Conditions{
		Instrument: or(c.Instrument, r.taken.Instrument), Geometry: or(c.Geometry, r.taken.Geometry), Specular: or(c.Specular, r.taken.Specular),
		Illuminant: or(c.Illuminant, r.taken.Illuminant), Observer: or(c.Observer, r.taken.Observer),
		Date: or(c.Date, or(r.taken.Date, time.Now().Format(time.DateOnly))),
	}
}

func saveReadings(e env, f runsFlags, r readFlags, run string, readings []profiles.ColourReading) error {
	path, err := journalPath(e, f.journal)
	if err != nil {
		return err
	}
	j, err := journal.Open(path, journal.Options{})
	if err != nil {
		return cannot(fmt.Errorf("open the journal: %w", err))
	}
	now := time.Now()
	kept := make([]record.KeptReading, len(readings))
	for i, reading := range readings {
		kept[i] = record.KeptReading{SavedAt: now, By: r.by, Note: r.note, Reading: reading}
	}
	err = j.SaveReadings(run, kept...)
	if err = errors.Join(err, j.Close()); err != nil {
		return cannot(err)
	}
	return nil
}

// listedReadings is the JSON of the readings of a run.
type listedReadings struct {
	Run       string               `json:"run"`
	Simulated bool                 `json:"simulated"`
	Readings  []record.KeptReading `json:"readings"`
	colourBeside
	title string
}

// colourBeside is how the parts of a run match, beside what else is said of it.
type colourBeside struct {
	Match     *partsColour `json:"match"`                   // null where there is no reading, or no match
	Unmatched string       `json:"match_unknown,omitempty"` // why there is none beside readings
	Strips    *int         `json:"strips"`                  // of its parts so far; null where not known
	Caution   string       `json:"strip_caution,omitempty"`
}

func besideRun(e env, journalFlag string, run record.Run, kept []record.KeptReading, goal goalFlags) (b colourBeside) {
	strips, err := stripsBefore(e, journalFlag, run)
	if err != nil {
		b.Unmatched = err.Error()
		return b
	}
	count := countStrips(strips, "")
	b.Strips = &count
	if count > 0 {
		b.Caution = stripCaution
	}
	b.Match, b.Unmatched = colourOf(e, journalFlag, run, kept, goal)
	return b
}

func listReadings(e env, f runsFlags, goal goalFlags, run record.Run, kept []record.KeptReading) error {
	list := listedOf(e, f.journal, goal, run, kept)
	if f.json {
		return printJSON(e.stdout, list)
	}
	return list.print(e.stdout)
}

func listedOf(e env, journalFlag string, goal goalFlags, run record.Run, kept []record.KeptReading) *listedReadings {
	return &listedReadings{run.ID, run.Intent.Simulated, orNone(kept), besideRun(e, journalFlag, run, kept, goal),
		run.Intent.Profile.Name + ", " + run.Intent.Rack.Name}
}

// print writes nothing where there is no list.
func (l *listedReadings) print(w io.Writer) error {
	if l == nil {
		return nil
	}
	if len(l.Readings) == 0 {
		_, err := fmt.Fprintf(w, "no colour reading is attached to run %s\n", l.Run)
		return errors.Join(err, l.colourBeside.print(w))
	}
	t := newTable(w)
	if l.Simulated {
		t.row(simulatedMark)
	}
	t.row("run %s, %s", l.Run, l.title)
	t.row("part\tL, a, b\ttaken\tinstrument\tdate\tby")
	for _, k := range l.Readings {
		c := k.Reading.Conditions
		t.row("%s\t%s\t%s %s %s/%s\t%s\t%s\t%s", or(k.Reading.Name(), "-"), readingText(k.Reading), or(c.Geometry, "geometry not said"), specularText(c.Specular), or(c.Illuminant, "?"), or(c.Observer, "?"), or(c.Instrument, "-"), c.Date, k.By)
	}
	if err := t.done(); err != nil {
		return err
	}
	return l.colourBeside.print(w)
}

func specularText(said string) string {
	if said == "" {
		return "specular not said"
	}
	return "specular " + said
}

func errorText(e *profiles.StatedError) string {
	if e == nil {
		return ""
	}
	return fmt.Sprintf(" (+- dE00 %.1f, 95 %% within %.1f)", e.Median, e.P95)
}

func readingText(r profiles.ColourReading) string {
	switch {
	case r.Lab != nil:
		return labText(*r.Lab) + errorText(r.Error)
	case r.Spectrum != nil:
		return "a spectrum"
	}
	return "XYZ " + labText(*r.XYZ)
}
