package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"anodized/controller/proof"
	"anodized/profiles"
)

// printer writes lines until one cannot be written.
type printer struct {
	out io.Writer
	err error
}

func (p *printer) line(format string, values ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.out, format+"\n", spelt(values)...)
	}
}

// table writes rows of cells under each other.
func (p *printer) table(rows ...[]string) {
	w := tabwriter.NewWriter(p.out, 0, 0, 2, ' ', 0)
	for _, row := range rows {
		if p.err == nil {
			_, p.err = fmt.Fprintln(w, "  "+strings.Join(speltAll(row), "\t"))
		}
	}
	if p.err == nil {
		p.err = w.Flush()
	}
}

func (r *proofRun) print(report proof.Report) error {
	if r.flags.json {
		return printJSON(r.env.stdout, report)
	}
	p := &printer{out: r.env.stdout}
	p.line("%s%s", simulatedWord(report.Simulated), or(report.Bench, "the embedded virtual bench"))
	p.line("  supply: %s", report.Supply)
	p.devices(report)
	p.limits(report)
	p.line("")
	p.line("With the output off")
	p.zero(report.Zero)
	p.line("")
	p.line("Interlock")
	p.table(opening("lid switch", &report.Interlock), opening("emergency stop", report.Stop), contactorRow(report.Contactor))
	p.load(report.Load)
	p.line("")
	p.setUp(report.SetUp)
	p.verdict(report)
	return p.err
}

func (p *printer) devices(report proof.Report) {
	p.line("")
	rows := [][]string{{"Device", "reads", "age", "median", "p99", "longest", "jitter", ""}}
	for _, d := range report.Devices {
		rows = append(rows, []string{d.Name, d.Value, inMS(d.AgeMS), inMS(d.Latency.Median), inMS(d.Latency.P99), inMS(d.Latency.Max), inMS(d.Jitter), mark(d.OK)})
	}
	p.table(rows...)
	l := report.Link
	p.line("  the talk of a tick: %s in the median, %s at most: %s", inMS(l.Traffic.Median), inMS(l.Traffic.Max), carried(l.RateHz))
}

func carried(hz int) string {
	if hz == 0 {
		return "more than any tick carries"
	}
	return fmt.Sprintf("ticks of %d Hz", hz)
}

func inMS(n proof.Number) string {
	switch {
	case !n.Known():
		return "-"
	case n == 0:
		return "0 ms"
	case n < 0.01:
		return "< 0.01 ms"
	case n < 10:
		return fmt.Sprintf("%.2f ms", float64(n))
	}
	return fmt.Sprintf("%.0f ms", float64(n))
}

func mark(ok bool) string {
	if ok {
		return "ok"
	}
	return "NOT OK"
}

func (p *printer) limits(report proof.Report) {
	p.line("")
	p.line("Limits, written with the output off and read back")
	rows := [][]string{}
	for _, l := range report.Limits {
		rows = append(rows, []string{l.What, "asked " + inUnit(l.Asked, l.Unit), "holds " + inUnit(l.Held, l.Unit), mark(l.OK)})
	}
	p.table(rows...)
}

func inUnit(n proof.Number, symbol string) string {
	if !n.Known() {
		return "-"
	}
	return fmt.Sprintf("%.6g %s", float64(n), symbol)
}

func (p *printer) zero(z proof.Zero) {
	p.table(
		[]string{"current", fmt.Sprintf("%.4f A", float64(z.AmpereOffset)), fmt.Sprintf("noise %.4f A", float64(z.AmpereNoise)), fmt.Sprintf("steps of %.4g A", float64(z.AmpereStep)), mark(z.OK)},
		[]string{"volts", fmt.Sprintf("%.3f V", float64(z.VoltOffset)), fmt.Sprintf("noise %.3f V", float64(z.VoltNoise)), fmt.Sprintf("steps of %.4g V", float64(z.VoltStep)), ""})
	p.line("  racks below %.0f cm2 are too small for these steps, at an end of %v", float64(z.SmallestRack), z.EndDensityUsed)
}

func opening(name string, o *proof.Opening) []string {
	if o == nil {
		return []string{name, "none", ""}
	}
	if o.OK {
		return []string{name, fmt.Sprintf("opened and closed, contacts apart by %s at most", inMS(o.DiscrepancyMS)), "ok"}
	}
	return []string{name, o.Why, "NOT PROVEN"}
}

func contactorRow(c *proof.Contactor) []string {
	switch {
	case c == nil:
		return []string{"contactor", "none", ""}
	case c.OK:
		return []string{"contactor", fmt.Sprintf("closes in %s, drops in %s, opens %s after the last pulse", inMS(c.ClosesMS), inMS(c.DropMS), inMS(c.LapseMS)), "ok"}
	}
	return []string{"contactor", c.Why, "NOT PROVEN"}
}

func (p *printer) load(t *proof.LoadTest) {
	if t == nil {
		return
	}
	p.line("")
	p.line("Dummy load: %v, %g %%, %g W; second meter: %s", t.Resistor, t.Tolerance, t.Watts, or(t.Meter, "none"))
	rows := [][]string{{"set", "supply reads", "", "meter", "by the resistor"}}
	for _, point := range t.Points {
		volts, metered := point.Volts, "-"
		if point.Metered.Known() {
			volts, metered = point.Metered, fmt.Sprintf("%.3f V", float64(point.Metered))
		}
		rows = append(rows, []string{fmt.Sprintf("%.2f V", float64(point.Set)), fmt.Sprintf("%.3f V", float64(point.Volts)), fmt.Sprintf("%.4f A", float64(point.Amperes)),
			metered, fmt.Sprintf("%.4f A", float64(volts)/float64(t.Resistor))})
	}
	p.table(rows...)
	p.fit("volts", "V", t.Volts)
	p.fit("amperes", "A", t.Amperes)
	if t.Stored != "" {
		p.line("  kept in %s", t.Stored)
	}
}

func (p *printer) fit(what, symbol string, f *proof.Fit) {
	if f == nil {
		return
	}
	known := "right, as far as this check can tell"
	if f.Off {
		known = "measurably off"
	}
	p.line("  %s read %.4f times what is true, %+.4f %s; the check is good to %.2g %%: %s", what, float64(f.Gain), float64(f.Offset), symbol, float64(f.Tolerance), known)
}

// whatWords are the words for the ways in which a bench is narrowed.
var whatWords = map[string]string{proof.NothingRuns: "Nothing may run", proof.AttendedOnly: "Attended only, stay beside it",
	proof.NeverStarved: "Cannot be set to nothing",
	proof.NeverSafe:    "Never proven safe to open, bleed lead and meter each time", proof.ColourDoubt: "Colour may be ahead of the meter"}

func (p *printer) setUp(s proof.SetUp) {
	if s.Answers == nil {
		p.line("Set-up: nothing is answered yet of what no reading tells: see anodized bench --bench FILE --set-up")
	} else {
		p.answers(s)
	}
	for _, what := range []string{proof.NothingRuns, proof.AttendedOnly, proof.NeverStarved, proof.NeverSafe, proof.ColourDoubt} {
		if whys := s.Whys(what); len(whys) > 0 {
			p.line("  %s:", whatWords[what])
			for _, why := range whys {
				p.line("    - %s", why)
			}
		}
	}
	if s.ArmsLostHost > 0 {
		p.line("  lost-host timer: the program arms it with %v before it switches the output on", s.ArmsLostHost)
	}
}

func (p *printer) answers(s proof.SetUp) {
	p.line("Set-up")
	rows := [][]string{}
	for _, q := range profiles.Questions() {
		a, date := q.Of(s.Answers), ""
		if a == nil && !slices.Contains(s.Missing, q.Key) {
			continue // the file answers it elsewhere
		}
		if a != nil {
			date = strings.TrimSpace(a.Date + "  " + a.How)
		}
		rows = append(rows, []string{q.Key, q.Say(a), date})
	}
	p.table(rows...)
}

func (p *printer) verdict(report proof.Report) {
	p.line("")
	for _, w := range report.Wrong {
		p.line("WRONG       %s", w)
	}
	for _, n := range report.NotProven {
		p.line("NOT PROVEN  %s", n)
	}
	if report.OK {
		p.line("%sAll of it is proven.", simulatedWord(report.Simulated))
	}
}
