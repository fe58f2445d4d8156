package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
)

func init() { commands = append(commands, newJournalCommand) }

func newJournalCommand(e env) *cobra.Command {
	var f runsFlags
	command := &cobra.Command{
		Use:   "journal",
		Short: "verify, back up, restore or export the journal",
		Long: "Looks after the file that holds every run. All commands but restore and acknowledge only read it, and\n" +
			"may be used while a load runs.",
		Example: `  anodized journal verify
  anodized journal backup /media/stick/journal-2026-03.db
  anodized journal restore /media/stick/journal-2026-03.db
  anodized journal export /media/stick/runs-2026-03`,
	}
	command.PersistentFlags().StringVar(&f.journal, "journal", "", "journal, if not the usual one")
	command.PersistentFlags().BoolVar(&f.json, "json", false, "print one JSON object")
	command.AddCommand(newVerifyCommand(e, &f), newBackupCommand(e, &f), newRestoreCommand(e, &f), newExportCommand(e, &f),
		newAcknowledgeJournalCommand(e, &f))
	return command
}

func newVerifyCommand(e env, f *runsFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "verify",
		Short: "read every byte of the journal and compare each run with its hash",
		Long: "Checks the structure of the file, reads every run, and compares its content with the\n" +
			"hash that it was closed with. Exit status 1 where something is wrong.",
		Example: "  anodized journal verify --json",
		Args:    cobra.NoArgs,
		RunE:    func(command *cobra.Command, _ []string) error { return verifyJournal(command.Context(), e, *f) },
	}
}

func newBackupCommand(e env, f *runsFlags) *cobra.Command {
	return &cobra.Command{
		Use:     "backup FILE",
		Short:   "copy the journal, whole and consistent, to a file that does not exist yet",
		Example: "  anodized journal backup /media/stick/journal-2026-03.db",
		Args:    cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			return backupJournal(command.Context(), e, *f, args[0])
		},
	}
}

// openToRead opens the journal that the flag or the environment names.
func openToRead(e env, f runsFlags) (*journal.Reader, error) {
	path, err := journalPath(e, f.journal)
	if err != nil {
		return nil, err
	}
	reader, err := openReading(path)
	if errors.Is(err, journal.ErrNoJournal) {
		return nil, badInput(err)
	}
	if errors.Is(err, journal.ErrDamaged) {
		return nil, notRight(err)
	}
	if err != nil {
		return nil, cannot(err)
	}
	return reader, nil
}

func verifyJournal(ctx context.Context, e env, f runsFlags) error {
	reader, err := openToRead(e, f)
	if err != nil {
		return err
	}
	found, err := reader.Verify(ctx)
	if err := errors.Join(err, reader.Close()); err != nil {
		return cannot(err)
	}
	if err := printVerification(e, f, found); err != nil {
		return err
	}
	if len(found.Problems) > 0 {
		return notRight(errQuiet)
	}
	return nil
}

func printVerification(e env, f runsFlags, found journal.Verification) error {
	if f.json {
		return printJSON(e.stdout, found)
	}
	t := newTable(e.stdout)
	t.row("runs\t%d", found.Runs)
	t.row("as they were closed\t%d", found.Verified)
	t.row("not finished\t%d", len(found.Open))
	t.row("calibrations\t%d", found.Kept.Calibrations)
	t.row("colour readings\t%d", found.Kept.Readings)
	t.row("adopted areas\t%d", found.Kept.Areas)
	t.row("strips\t%d", found.Kept.Strips)
	t.row("problems\t%d", len(found.Problems))
	for _, problem := range found.Problems {
		t.row("  %s\t%s", or(or(problem.Run, problem.Entry), "file"), problem.Message)
	}
	return t.done()
}

func backupJournal(ctx context.Context, e env, f runsFlags, to string) error {
	reader, err := openToRead(e, f)
	if err != nil {
		return err
	}
	err = reader.Backup(ctx, to)
	closing := reader.Close()
	if errors.Is(err, journal.ErrExists) {
		return badInput(errors.Join(err, closing))
	}
	if err := errors.Join(err, closing); err != nil {
		return cannot(err)
	}
	if f.json {
		return printJSON(e.stdout, map[string]string{"backup": to})
	}
	_, err = fmt.Fprintf(e.stdout, "backup written to %s\n", to)
	return err
}
