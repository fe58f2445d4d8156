package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"anodized/controller/fault"
	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/controller/replay"
)

func newRunsShowCommand(e env, f *runsFlags) *cobra.Command {
	return &cobra.Command{
		Use:   "show RUN",
		Short: "one run: what was intended, what happened, how it ended",
		Example: `  anodized runs show last
  anodized runs show 12 --json`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return showRun(e, *f, args[0]) },
	}
}

// shownRun is the JSON of one run. Its rows are counted only: export gives them.
type shownRun struct {
	journal.Summary
	Rows     int                  `json:"rows"`
	Intent   record.Intent        `json:"intent"`
	Events   []record.Event       `json:"events"`
	Result   record.Result        `json:"result"`
	Readings []record.KeptReading `json:"readings"` // colours of its parts, as attached
	colourBeside
}

func showRun(e env, f runsFlags, name string) error {
	run, kept, err := runWithReadings(e, f.journal, name)
	if err != nil {
		return err
	}
	beside := besideRun(e, f.journal, run, kept, goalFlags{})
	if f.json {
		return printJSON(e.stdout, shownRun{journal.Summarise(run), len(run.Rows), run.Intent, orNone(run.Events), run.Result, orNone(kept), beside})
	}
	return errors.Join(printRun(e.stdout, run), beside.print(e.stdout))
}

// orNone is a list that JSON writes as [] where there is nothing.
func orNone[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func printRun(w io.Writer, run record.Run) error {
	s, in := journal.Summarise(run), run.Intent
	t := newTable(w)
	if s.Simulated {
		t.row(simulatedMark)
	}
	t.row("run\t%s, %s", run.ID, in.StartedAt.Format("2006-01-02 15:04:05 -07:00"))
	t.row("outcome\t%s", endOf(s.Outcome, s.Trip))
	printTrip(t, run.Result)
	t.row("profile\t%s\t%s, %s", s.Profile, s.Metal, s.Bath)
	t.row("rack\t%s", s.Rack)
	t.row("plan\t%s\tcalibration %s: %s", in.Plan.ID, in.Calibration.ID, in.Calibration.Provenance)
	t.row("supply\t%s", in.Supply)
	t.row("operator\t%s\t%s", or(in.Operator, "not given"), in.Note)
	t.row("rows\t%d", len(run.Rows))
	t.row("")
	for _, n := range numbers {
		t.row("%s\t%s", n.name, figure(n.of(run.Result), n.format))
	}
	printEvents(t, run)
	return t.done()
}

func printTrip(t *table, res record.Result) {
	if res.Trip != nil {
		t.row("\t%s", res.Trip.Message)
		t.row("\t%s", res.Trip.Action)
		if len(res.Trip.Confused) > 0 {
			t.row("\tcould be: %s", strings.Join(res.Trip.Confused, "; "))
		}
	}
	for _, reason := range res.Reasons {
		t.row("\t%s", reason)
	}
}

func printEvents(t *table, run record.Run) {
	if len(run.Events) > 0 {
		t.row("")
	}
	var told []fault.Finding
	for _, ev := range run.Events {
		words := ev.Text
		if ev.Finding != nil {
			words += ". " + ev.Finding.Action
			told = append(told, *ev.Finding)
		}
		t.row("%.1f s\t%s %s\t%s", float64(ev.T), ev.Kind, ev.Code, words)
	}
	for _, finding := range besideTrip(run.Result) {
		if replay.Has(told, finding.Code) {
			continue
		}
		t.row("%.1f s\t%s %s\t%s", finding.AtSeconds, severityWord(finding.Severity), finding.Code, finding.Action)
	}
}

func severityWord(severity fault.Severity) string { return fmt.Sprintf("finding (%s)", severity) }
