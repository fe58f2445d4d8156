package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"anodized/controller/journal"
	"anodized/controller/record"
)

func newRunsCompareCommand(e env, f *runsFlags) *cobra.Command {
	return &cobra.Command{
		Use:     "compare RUN RUN",
		Short:   "two runs side by side, and what differs",
		Example: `  anodized runs compare 11 last`,
		Args:    cobra.ExactArgs(2),
		RunE:    func(_ *cobra.Command, args []string) error { return compareRuns(e, *f, args) },
	}
}

// compared is the JSON of a comparison: b less a, null where either is not known.
type compared struct {
	A        journal.Summary       `json:"a"`
	B        journal.Summary       `json:"b"`
	SamePlan bool                  `json:"same_plan"`
	Numbers  map[string]difference `json:"numbers"`
}

type difference struct {
	A     *float64 `json:"a"`
	B     *float64 `json:"b"`
	BLess *float64 `json:"b_less_a"`
}

func compareRuns(e env, f runsFlags, names []string) error {
	runs, err := namedRuns(e, f, names...)
	if err != nil {
		return err
	}
	a, b := runs[0], runs[1]
	if f.json {
		c := compared{journal.Summarise(a), journal.Summarise(b), a.Intent.Plan.ID == b.Intent.Plan.ID, map[string]difference{}}
		for _, n := range numbers {
			c.Numbers[n.field] = differenceOf(n, a.Result, b.Result)
		}
		return printJSON(e.stdout, c)
	}
	return printComparison(e.stdout, a, b)
}

func differenceOf(n number, a, b record.Result) difference {
	d := difference{A: n.of(a), B: n.of(b)}
	if d.A != nil && d.B != nil {
		less := *d.B - *d.A
		d.BLess = &less
	}
	return d
}

func printComparison(w io.Writer, a, b record.Run) error {
	sa, sb := journal.Summarise(a), journal.Summarise(b)
	t := newTable(w)
	t.row("run\t%s\t%s\tdifference", a.ID, b.ID)
	if sa.Simulated || sb.Simulated {
		t.row("\t%s\t%s\t", markOf(sa.Simulated), markOf(sb.Simulated))
	}
	for _, words := range [][3]string{
		{"started", sa.StartedAt.Format("2006-01-02 15:04"), sb.StartedAt.Format("2006-01-02 15:04")},
		{"profile", sa.Profile, sb.Profile},
		{"rack", sa.Rack, sb.Rack},
		{"plan", a.Intent.Plan.ID, b.Intent.Plan.ID},
		{"outcome", endOf(sa.Outcome, sa.Trip), endOf(sb.Outcome, sb.Trip)},
		{"findings", findingCodes(sa), findingCodes(sb)},
	} {
		t.row("%s\t%s\t%s\t%s", words[0], words[1], words[2], sameWord(words[1] == words[2]))
	}
	for _, n := range numbers {
		d := differenceOf(n, a.Result, b.Result)
		t.row("%s\t%s\t%s\t%s", n.name, figure(d.A, n.format), figure(d.B, n.format), signed(d.BLess, n.format))
	}
	return t.done()
}

func sameWord(same bool) string {
	if same {
		return ""
	}
	return "differs"
}

func signed(value *float64, format string) string {
	if value == nil {
		return ""
	}
	return fmt.Sprintf("%+"+format[1:], *value)
}
