package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
)

func newRestoreCommand(e env, f *runsFlags) *cobra.Command {
	force := false
	command := &cobra.Command{
		Use:   "restore FILE",
		Short: "put a backup in the place of the journal",
		Long: "Verifies a backup, every run by its hash, and puts a copy of it in the place of the\n" +
			"journal. A journal that is there is left alone, unless --force says that it is to be\n" +
			"set aside: it gets a new name and is never deleted. While a load runs it is refused.",
		Example: `  anodized journal restore /media/stick/journal-2026-03.db
  anodized journal restore /media/stick/journal-2026-03.db --force`,
		Args: cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			return restoreJournal(command.Context(), e, *f, args[0], force)
		},
	}
	command.Flags().BoolVar(&force, "force", false, "set aside the journal that is there")
	return command
}

func restoreJournal(ctx context.Context, e env, f runsFlags, backup string, force bool) error {
	path, err := journalPath(e, f.journal)
	if err != nil {
		return err
	}
	done, err := journal.Restore(ctx, path, backup, force)
	switch {
	case errors.Is(err, journal.ErrUnsound), errors.Is(err, journal.ErrDamaged):
		return notRight(err)
	case errors.Is(err, journal.ErrExists):
		return badInput(fmt.Errorf("%w: --force sets it aside under a new name, or name another with --journal", err))
	case errors.Is(err, journal.ErrInUse):
		return cannot(err)
	case errors.Is(err, journal.ErrNoBackup), errors.Is(err, journal.ErrNoJournal), errors.Is(err, journal.ErrForeign), errors.Is(err, journal.ErrNewerSchema):
		return badInput(err)
	case err != nil:
		return cannot(err)
	}
	if f.json {
		return printJSON(e.stdout, struct {
			Journal string `json:"journal"`
			journal.Restored
		}{path, done})
	}
	if done.Aside != "" {
		fmt.Fprintf(e.stdout, "the journal that was there stands as %s\n", done.Aside)
	}
	_, err = fmt.Fprintf(e.stdout, "%d runs restored to %s\n", done.Runs, path)
	return err
}
