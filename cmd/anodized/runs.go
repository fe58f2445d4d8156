package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/record"
)

func init() { commands = append(commands, newRunsCommand) }

// runsFlags are the flags of runs and its subcommands.
type runsFlags struct {
	journal, profile, outcome string
	limit                     int
	json                      bool
}

func newRunsCommand(e env) *cobra.Command {
	var f runsFlags
	command := &cobra.Command{
		Use:   "runs",
		Short: "list, show, compare and export the runs of the journal",
		Long: "Lists the runs of the journal, the newest first. A run is named by its number, or as last.\n" +
			"What was simulated says SIMULATED.",
		Example: `  anodized runs
  anodized runs --limit 10 --outcome tripped --json
  anodized runs show last
  anodized runs export 12 --csv > run-12.csv
  anodized runs compare 11 12
  anodized runs read 12 readings.cxf
  anodized runs strip 12 --operator Ida`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return listRuns(e, f) },
	}
	command.PersistentFlags().StringVar(&f.journal, "journal", "", "journal, if not the usual one")
	command.PersistentFlags().BoolVar(&f.json, "json", false, "print one JSON object")
	command.Flags().IntVar(&f.limit, "limit", 0, "list the newest so many; 0 for all")
	command.Flags().StringVar(&f.profile, "profile", "", "list the runs of this profile")
	command.Flags().StringVar(&f.outcome, "outcome", "", "list the runs that ended so: "+strings.Join(outcomeNames(), ", "))
	command.AddCommand(newRunsShowCommand(e, &f), newRunsExportCommand(e, &f), newRunsCompareCommand(e, &f), newRunsReadCommand(e, &f), newAdoptAreaCommand(e, &f), newRunsStripCommand(e, &f))
	return command
}

var outcomes = []record.Outcome{record.Complete, record.TimeRanOut, record.Stopped, record.Tripped,
	record.Interrupted, record.Refused, journal.Running}

func outcomeNames() []string {
	names := make([]string, len(outcomes))
	for i, outcome := range outcomes {
		names[i] = string(outcome)
	}
	return names
}

func (f runsFlags) filter() (journal.Filter, error) {
	filter := journal.Filter{Limit: f.limit, Profile: f.profile, Outcome: record.Outcome(f.outcome)}
	if f.limit < 0 {
		return filter, badInput(fmt.Errorf("--limit %d: 0 or more is allowed", f.limit))
	}
	for _, outcome := range outcomes {
		if f.outcome == "" || filter.Outcome == outcome {
			return filter, nil
		}
	}
	return filter, badInput(fmt.Errorf("--outcome %q: allowed are %s", f.outcome, strings.Join(outcomeNames(), ", ")))
}

func listRuns(e env, f runsFlags) error {
	filter, err := f.filter()
	if err != nil {
		return err
	}
	list, err := readRuns(e, f, filter)
	if err != nil && !errors.Is(err, journal.ErrNoJournal) {
		return cannot(err)
	}
	switch {
	case f.json && len(list) == 0:
		fmt.Fprintln(e.stderr, "anodized:", f.noneWords())
		return printJSON(e.stdout, map[string]any{"runs": orNone(list)})
	case f.json:
		return printJSON(e.stdout, map[string]any{"runs": list})
	case len(list) == 0:
		_, err := fmt.Fprintln(e.stdout, f.noneWords())
		return err
	}
	return printRuns(e.stdout, list)
}

// noneWords say why a list is empty, and what to do about it.
func (f runsFlags) noneWords() string {
	if f.profile != "" || f.outcome != "" {
		return "no run of the journal matches; anodized runs without --profile and --outcome lists all"
	}
	return "no run is recorded yet; anodized run does one, without --bench on the virtual bench"
}

func readRuns(e env, f runsFlags, filter journal.Filter) ([]journal.Summary, error) {
	path, err := journalPath(e, f.journal)
	if err != nil {
		return nil, err
	}
	reader, err := openReading(path)
	if err != nil {
		return nil, err
	}
	list, err := reader.Runs(filter)
	return list, errors.Join(err, reader.Close())
}

// namedRuns reads runs by their names. A run that is not there is bad input.
func namedRuns(e env, f runsFlags, names ...string) ([]record.Run, error) {
	path, err := journalPath(e, f.journal)
	if err != nil {
		return nil, err
	}
	reader, err := openReading(path)
	if errors.Is(err, journal.ErrNoJournal) {
		return nil, badInput(fmt.Errorf("no run %s: %w", strings.Join(names, " or "), err))
	}
	if err != nil {
		return nil, cannot(err)
	}
	runs := make([]record.Run, len(names))
	for i, name := range names {
		var failed error
		runs[i], failed = reader.Run(name)
		err = errors.Join(err, failed)
	}
	switch err = errors.Join(err, reader.Close()); {
	case errors.Is(err, journal.ErrNoRun):
		return nil, badInput(err)
	case err != nil:
		return nil, cannot(err)
	}
	return runs, nil
}
