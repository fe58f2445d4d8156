package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/record"
)

// The names of what an export writes.
const (
	runsFile  = "runs.jsonl"
	curveFile = "run-%s.csv"
)

func newExportCommand(e env, f *runsFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "export FOLDER",
		Short: "write every run into a folder, as files that any program reads",
		Long: "Writes " + runsFile + ", a JSON object a line for each run with all that the journal keeps of\n" +
			"it, and for each run with readings its curve, run-NUMBER.csv, as runs export --csv does.\n" +
			"Calibrations, colour readings, adopted areas and strips go to calibrations.jsonl, readings.jsonl,\n" +
			"areas.jsonl and strips.jsonl, an object a line, where there are any.\n" +
			"The folder must be new, or empty. A run that is damaged is left out and named, and the\n" +
			"exit status is 1.",
		Example: `  anodized journal export /media/stick/runs-2026-03`,
		Args:    cobra.ExactArgs(1),
		RunE: func(command *cobra.Command, args []string) error {
			return exportJournal(command.Context(), e, *f, args[0])
		},
	}
}

// exported is what an export came to.
type exported struct {
	Folder  string            `json:"folder"`
	Runs    int               `json:"runs"`
	Curves  int               `json:"curves"`
	Kept    journal.Kept      `json:"kept"`
	Damaged []journal.Problem `json:"damaged"`
}

func exportJournal(ctx context.Context, e env, f runsFlags, folder string) error {
	reader, err := openToRead(e, f)
	if err != nil {
		return err
	}
	done, err := exportAll(ctx, reader, folder)
	if err := errors.Join(err, reader.Close()); err != nil {
		return err
	}
	if err := printExported(e, f, done); err != nil {
		return err
	}
	if len(done.Damaged) > 0 {
		return notRight(errQuiet)
	}
	return nil
}

func exportAll(ctx context.Context, reader *journal.Reader, folder string) (exported, error) {
	done := exported{Folder: folder, Damaged: []journal.Problem{}}
	list, err := reader.Runs(journal.Filter{})
	if err != nil {
		return done, cannot(err)
	}
	if err := newFolder(folder); err != nil {
		return done, err
	}
	lines, err := os.OpenFile(filepath.Join(folder, runsFile), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return done, cannot(fmt.Errorf("exporting the journal: %w", err))
	}
	out := bufio.NewWriter(lines)
	for i := len(list) - 1; i >= 0 && err == nil; i-- { // the oldest first
		if err = ctx.Err(); err == nil {
			err = done.add(reader, list[i].ID, out)
		}
	}
	if err == nil {
		err = done.addKept(reader)
	}
	if err := errors.Join(err, out.Flush(), lines.Sync(), lines.Close()); err != nil {
		return done, cannot(fmt.Errorf("exporting the journal to %s: %w", folder, err))
	}
	return done, nil
}

// newFolder makes the folder, or takes one that is empty.
func newFolder(folder string) error {
	entries, err := os.ReadDir(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := os.Mkdir(folder, 0o700); err != nil {
			return badInput(fmt.Errorf("exporting the journal: %w", err))
		}
		return nil
	case err != nil:
		return badInput(fmt.Errorf("exporting the journal: %w", err))
	case len(entries) > 0:
		return badInput(fmt.Errorf("exporting the journal: %s is not empty: name a new folder", folder))
	}
	return nil
}

// add writes one run; one that is damaged is remembered.
func (done *exported) add(reader *journal.Reader, id string, out *bufio.Writer) error {
	run, err := reader.Run(id)
	if errors.Is(err, journal.ErrDamaged) {
		done.Damaged = append(done.Damaged, journal.Problem{Run: id, Message: err.Error()})
		return nil
	}
	if err != nil {
		return err
	}
	done.Runs++
	if err := printJSON(out, wholeRun(run)); err != nil {
		return err
	}
	return done.addCurve(run)
}

func (done *exported) addCurve(run record.Run) error {
	rows := curveRows(run.Rows)
	if len(rows) < 2 { // not a curve that a file can hold
		return nil
	}
	done.Curves++
	file, err := os.OpenFile(filepath.Join(done.Folder, fmt.Sprintf(curveFile, run.ID)), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	return errors.Join(writeCurve(file, rows, columnsOf(run, rows)), file.Sync(), file.Close())
}

func printExported(e env, f runsFlags, done exported) error {
	if f.json {
		return printJSON(e.stdout, done)
	}
	for _, problem := range done.Damaged {
		fmt.Fprintf(e.stdout, "%s is left out: %s\n", or(problem.Entry, "run "+problem.Run), problem.Message)
	}
	_, err := fmt.Fprintf(e.stdout, "%d runs and %d curves written to %s\n", done.Runs, done.Curves, done.Folder)
	if err == nil && done.Kept != (journal.Kept{}) {
		_, err = fmt.Fprintf(e.stdout, "and %d calibrations, %d colour readings, %d adopted areas, %d strips\n", done.Kept.Calibrations, done.Kept.Readings, done.Kept.Areas, done.Kept.Strips)
	}
	return err
}
