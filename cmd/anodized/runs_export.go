package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/record"
)

func newRunsExportCommand(e env, f *runsFlags) *cobra.Command {
	var csv bool
	command := &cobra.Command{
		Use:   "export RUN",
		Short: "the curve of a run, as CSV that review --curve reads, or all of it as JSON",
		Long: "Writes the rows of a run to standard output. CSV has the columns of a curve file, with\n" +
			"times in milliseconds and every other number in full; a tick without a reading has no row in it, and\n" +
			"another value that was not read an empty cell. What was simulated has a column that says so. Where an independent voltmeter was read, its readings are a\n" +
			"column of their own, each in the first row that had it. JSON has everything that the journal keeps of the run.",
		Example: `  anodized runs export last --csv > curve.csv
  anodized runs export 12 --json > run-12.json`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if csv == f.json {
				return badInput(errors.New("give either --csv or --json"))
			}
			return exportRun(e, *f, args[0])
		},
	}
	command.Flags().BoolVar(&csv, "csv", false, "write the curve as CSV")
	return command
}

func exportRun(e env, f runsFlags, name string) error {
	runs, err := namedRuns(e, f, name)
	if err != nil {
		return err
	}
	if f.json {
		return printJSON(e.stdout, wholeRun(runs[0]))
	}
	if journal.Summarise(runs[0]).Simulated {
		fmt.Fprintf(e.stderr, "anodized: run %s is %s, and a column of its curve says so\n", runs[0].ID, simulatedMark)
	}
	rows := curveRows(runs[0].Rows)
	if left := len(runs[0].Rows) - len(rows); left > 0 {
		fmt.Fprintf(e.stderr, "anodized: %d of the %d ticks of run %s have no reading, or one of the same moment as the next, and so no row\n",
			left, len(runs[0].Rows), runs[0].ID)
	}
	return writeCurve(e.stdout, rows, columnsOf(runs[0], rows))
}

// curveRows are the rows that a curve file can hold: each with a reading, each
// later than the one before. Of two at one moment, as the last before the output
// goes on and the first after it are, the second stays.
func curveRows(rows []record.Row) []record.Row {
	var kept []record.Row
	for _, row := range rows {
		if math.IsNaN(float64(row.Volts)) || math.IsNaN(float64(row.Amperes)) {
			continue
		}
		for len(kept) > 0 && inMilliseconds(kept[len(kept)-1]) >= inMilliseconds(row) {
			kept = kept[:len(kept)-1]
		}
		kept = append(kept, row)
	}
	return kept
}

// inMilliseconds is the time of a row as a curve file has it, s: a tick is a hundred of
// them, and what stands behind is the last bit of a sum.
func inMilliseconds(row record.Row) float64 { return math.Round(1000*float64(row.T)) / 1000 }

// curveColumn is a column of a curve file.
type curveColumn struct {
	name string
	of   func(record.Row) float64
}

// curveColumns are the columns that every curve file of ours has.
var curveColumns = []curveColumn{
	{"t_s", inMilliseconds},
	{"volts", func(r record.Row) float64 { return float64(r.Volts) }},
	{"amperes", func(r record.Row) float64 { return float64(r.Amperes) }},
	{"set_volts", func(r record.Row) float64 { return float64(r.Set) }},
	{"limit_amperes", func(r record.Row) float64 { return float64(r.Limit) }},
	{"bath_c", func(r record.Row) float64 { return float64(r.Bath) }},
}

// columnsOf adds that of a run which was simulated, and that of an independent voltmeter
// where one was read.
func columnsOf(run record.Run, rows []record.Row) []curveColumn {
	columns := slices.Clone(curveColumns)
	if journal.Summarise(run).Simulated {
		columns = append(columns, curveColumn{"simulated", func(record.Row) float64 { return 1 }})
	}
	return append(columns, meterColumn(rows)...)
}

// meterColumn is none where no voltmeter was read. A reading stays in the rows until the
// next one comes; it is written once.
func meterColumn(rows []record.Row) []curveColumn {
	if !slices.ContainsFunc(rows, func(r record.Row) bool { return r.Meter.OK }) {
		return nil
	}
	written := math.NaN() // moment of the last reading
	return []curveColumn{{"metered_volts", func(r record.Row) float64 {
		if !r.Meter.OK || float64(r.Meter.T) == written {
			return math.NaN()
		}
		written = float64(r.Meter.T)
		return float64(r.Meter.Volts)
	}}}
}

func writeCurve(w io.Writer, rows []record.Row, columns []curveColumn) error {
	out := bufio.NewWriter(w)
	cells := make([]string, len(columns))
	for i, column := range columns {
		cells[i] = column.name
	}
	if _, err := fmt.Fprintln(out, strings.Join(cells, ",")); err != nil {
		return fmt.Errorf("writing the curve: %w", err)
	}
	for _, row := range rows {
		for i, column := range columns {
			cells[i] = cell(column.of(row))
		}
		if _, err := fmt.Fprintln(out, strings.Join(cells, ",")); err != nil {
			return fmt.Errorf("writing the curve: %w", err)
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing the curve: %w", err)
	}
	return nil
}

func cell(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v+0, 'g', -1, 64) // + 0: a reading of minus zero is zero
}

// exportedRun is everything of a run; exportedRow is a row of it, null where not read.
type exportedRun struct {
	shownRun
	Rows []exportedRow `json:"rows"`
}

type exportedRow struct {
	T       *float64 `json:"t_s"`
	Volts   *float64 `json:"volts"`
	Amperes *float64 `json:"amperes"`
	Set     *float64 `json:"set_volts"`
	Limit   *float64 `json:"limit_amperes"`
	Bath    *float64 `json:"bath_c"`
	Mode    uint8    `json:"mode"`
	State   uint8    `json:"state"`
	Output  uint8    `json:"output"`
	Metered *float64 `json:"metered_volts,omitempty"` // of an independent voltmeter
	MeterT  *float64 `json:"metered_t_s,omitempty"`   // of that reading
}

func wholeRun(run record.Run) exportedRun {
	whole := exportedRun{Rows: make([]exportedRow, len(run.Rows)),
		shownRun: shownRun{Summary: journal.Summarise(run), Intent: run.Intent, Events: orNone(run.Events), Result: run.Result}}
	for i, r := range run.Rows {
		whole.Rows[i] = exportedRow{record.Known(r.T), record.Known(r.Volts), record.Known(r.Amperes), record.Known(r.Set),
			record.Known(r.Limit), record.Known(r.Bath), r.Mode, r.State, r.Output, nil, nil}
		if r.Meter.OK {
			whole.Rows[i].Metered, whole.Rows[i].MeterT = record.Known(r.Meter.Volts), record.Known(r.Meter.T)
		}
	}
	return whole
}
