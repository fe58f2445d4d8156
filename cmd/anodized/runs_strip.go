package main

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/record"
)

// stripFlags are those of runs strip.
type stripFlags struct{ operator, part, note string }

func newRunsStripCommand(e env, f *runsFlags) *cobra.Command {
	var s stripFlags
	command := &cobra.Command{
		Use:   "strip RUN",
		Short: "keep that the parts of a run were stripped, for the count",
		Long: "Films only grow: what is past its colour goes back by stripping alone. That is done elsewhere,\n" +
			"by those who may: this program has no recipe and never will. It keeps that it was done, of\n" +
			"which run and which parts, and counts: each strip thins the part, so look at its dimensions.\n" +
			"run --after-strip RUN then runs the same parts anew, and the count goes with them; match,\n" +
			"runs show and review say it.",
		Example: `  anodized runs strip last --operator Ida
  anodized runs strip 12 --part "seat clamp" --operator Ida --note "overshot by 8 nm"`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return stripRun(e, *f, s, args[0]) },
	}
	command.Flags().StringVar(&s.operator, "operator", "", "who says so")
	command.Flags().StringVar(&s.part, "part", "", "these parts of the rack alone, named as in the rack or in a reading")
	command.Flags().StringVar(&s.note, "note", "", "a note for the record")
	return command
}

// keptStrip is the JSON of a strip that was kept.
type keptStrip struct {
	record.Strip
	Count   int    `json:"strips"` // of these parts, with this one
	Caution string `json:"caution"`
}

func stripRun(e env, f runsFlags, s stripFlags, name string) error {
	if s.operator = strings.TrimSpace(s.operator); s.operator == "" {
		return badInput(errors.New("--operator is needed: a strip is kept on a person's word"))
	}
	if err := errors.Join(nameFlag("operator", s.operator), plainFlag("part", s.part), plainFlag("note", s.note)); err != nil {
		return badInput(err)
	}
	run, kept, err := runWithReadings(e, f.journal, name)
	if err != nil {
		return err
	}
	if err := strippable(run, kept, s.part); err != nil {
		return badInput(err)
	}
	one := record.Strip{SavedAt: time.Now(), By: s.operator, Note: s.note, Run: run.ID, Part: s.part, Simulated: run.Intent.Simulated}
	if err := saveStrip(e, f.journal, one); err != nil {
		return err
	}
	all, err := stripsBefore(e, f.journal, run)
	if err != nil {
		return err
	}
	answer := keptStrip{one, countStrips(all, s.part), stripCaution}
	if f.json {
		return printJSON(e.stdout, answer)
	}
	_, err = fmt.Fprintf(e.stdout, "%srun %s, %s: %s. Run these parts again with --after-strip %s, and the count goes with them.\nCaution: %s.\n",
		simulatedWord(one.Simulated), run.ID, record.Escaped(or(s.part, "all parts")), stripsWord(answer.Count), run.ID, answer.Caution)
	return err
}

// strippable refuses what cannot have been stripped.
func strippable(run record.Run, kept []record.KeptReading, part string) error {
	switch run.Result.Outcome {
	case record.Refused:
		return fmt.Errorf("run %s was refused and never energised: its parts have no film from it", run.ID)
	case journal.Running:
		return fmt.Errorf("run %s goes on: its parts cannot have been stripped since", run.ID)
	}
	var names []string
	for _, p := range run.Intent.Rack.Parts {
		names = append(names, p.Name)
	}
	for _, k := range kept {
		names = append(names, k.Reading.Name())
	}
	for _, name := range names {
		if part == "" || samePart(name, part) || samePart(part, name) {
			return nil
		}
	}
	if part == "" {
		return nil
	}
	return fmt.Errorf("--part %q: run %s has %s", part, run.ID, strings.Join(names, ", "))
}

// samePart tells whether a piece is one of the parts of that name: "seat clamp 2" is a
// "seat clamp".
func samePart(piece, part string) bool {
	return strings.HasPrefix(strings.ToLower(piece), strings.ToLower(part))
}

func saveStrip(e env, journalFlag string, one record.Strip) error {
	path, err := journalPath(e, journalFlag)
	if err != nil {
		return err
	}
	j, err := journal.Open(path, journal.Options{})
	if err != nil {
		return cannot(fmt.Errorf("open the journal: %w", err))
	}
	if err := errors.Join(j.SaveStrip(one), j.Close()); err != nil {
		return cannot(err)
	}
	return nil
}
