package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/record"
)

// window is where a load is shown as it runs.
type window interface {
	event(ev controller.Event) error
	redraw()
	answered(err error)
}

func (j *job) window(e env, a attended) (window, error) {
	switch {
	case j.flags.json:
		return jsonWindow{e.stdout}, nil
	case e.terminal:
		return newLive(j, e, a)
	}
	return newPlain(j, e, a), nil
}

// jsonWindow writes an event a line, the result last.
type jsonWindow struct{ out io.Writer }

func (w jsonWindow) event(ev controller.Event) error {
	if ev.Kind == controller.KindResult {
		return printJSON(w.out, ev.Result)
	}
	return printJSON(w.out, ev)
}

func (w jsonWindow) redraw()        {}
func (w jsonWindow) answered(error) {}

// plain writes a line for each event to standard error, and the result as a table
// to standard output.
type plain struct {
	out, messages io.Writer
	waiting       string
}

func newPlain(j *job, e env, a attended) *plain {
	p := &plain{out: e.stdout, messages: e.stderr}
	fmt.Fprintf(p.messages, "%s%s, %s: %.1f V\n", simulatedWord(a.bench.devices.Simulated), j.plan.Rack, j.plan.Profile, float64(j.plan.TargetVolts))
	if a.bench.pace != "" {
		fmt.Fprintln(p.messages, a.bench.pace)
	}
	return p
}

func simulatedWord(simulated bool) string {
	if simulated {
		return "SIMULATED  "
	}
	return ""
}

func (p *plain) event(ev controller.Event) error {
	if ev.Kind == controller.KindResult {
		return printResult(p.out, *ev.Result)
	}
	if line := p.line(ev); line != "" {
		fmt.Fprintf(p.messages, "%6s  %s\n", moment(float64(ev.T)), line)
	}
	return nil
}

func (p *plain) redraw() {}

func (p *plain) answered(err error) {
	if err != nil {
		fmt.Fprintln(p.messages, "anodized:", err)
	}
}

// line is an event in words; "" for what is not worth a line.
func (p *plain) line(ev controller.Event) string {
	if ev.Kind != controller.KindProgress {
		return eventWords(ev)
	}
	waiting := strings.Join(ev.Progress.WaitingFor, "; ")
	if waiting == p.waiting || waiting == "" {
		return ""
	}
	p.waiting = waiting
	return "waits: " + waiting
}

// eventWords is an event as people read it. What an instrument or a person said is in it.
func eventWords(ev controller.Event) string { return record.Escaped(spokenWords(ev)) }

func spokenWords(ev controller.Event) string {
	switch ev.Kind {
	case controller.KindState:
		return ev.State
	case controller.KindTrip:
		return fmt.Sprintf("TRIP %s: %s %s", ev.Code, ev.Text, ev.Action)
	case controller.KindQuestion:
		return fmt.Sprintf("? %s (y goes on, n stops)", ev.Text)
	case controller.KindFinding:
		return fmt.Sprintf("%s: %s. %s", ev.Code, ev.Text, ev.Action)
	case controller.KindWarning:
		return fmt.Sprintf("warning %s: %s", ev.Code, ev.Text)
	case controller.KindAnswer:
		return fmt.Sprintf("answer to %s: %s", ev.Code, ev.Text)
	}
	return ev.Text
}

// moment is a time of the run as minutes and seconds.
func moment(seconds float64) string {
	if math.IsNaN(seconds) {
		return "-"
	}
	whole := int(math.Round(seconds))
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}

// outcomeMeanings say what an outcome means.
var outcomeMeanings = map[record.Outcome]string{
	record.Complete:    "the end criterion held",
	record.TimeRanOut:  "the longest ramp or hold passed: not the same colour as an end by density",
	record.Stopped:     "stopped by a person",
	record.Tripped:     "a fault ended it",
	record.Interrupted: "the process or the power went",
	record.Refused:     "never energised",
}

// printResult writes the result as a table.
func printResult(w io.Writer, res record.Result) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "%s%s: %s\n", simulatedWord(res.Simulated), res.Outcome, outcomeMeanings[res.Outcome])
	if res.Trip != nil {
		fmt.Fprintf(b, "  trip        %s: %s\n  next        %s\n", res.Trip.Code, record.Escaped(res.Trip.Message), res.Trip.Action)
		if len(res.Trip.Confused) > 0 {
			fmt.Fprintf(b, "  could be    %s\n", strings.Join(res.Trip.Confused, "; "))
		}
	}
	for _, reason := range res.Reasons {
		fmt.Fprintf(b, "  reason      %s\n", record.Escaped(reason))
	}
	if res.Run != "" {
		fmt.Fprintf(b, "  run         %s\n", res.Run)
	}
	if res.EndVolts != nil {
		resultNumbers(b, res)
	}
	for _, f := range besideTrip(res) {
		fmt.Fprintf(b, "  %-10s  %s at %s: %s. %s\n", f.Severity, f.Code, moment(f.AtSeconds), record.Escaped(strings.Join(f.Evidence, "; ")), f.Action)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// besideTrip are the findings that say more than the trip of the run, which is among
// them, has said already.
func besideTrip(res record.Result) []fault.Finding {
	return slices.DeleteFunc(slices.Clone(res.Findings), func(f fault.Finding) bool {
		return res.Trip != nil && f.Code == res.Trip.Code &&
			(slices.Equal(f.Evidence, []string{res.Trip.Message}) || slices.Equal(f.Evidence, res.Trip.Evidence))
	})
}

func resultNumbers(w io.Writer, res record.Result) {
	for _, line := range []struct{ name, text string }{
		{"volts", quantity(res.EndVolts, "%.2f V at the end") + quantity(res.TargetVolts, ", target %.2f V") + quantity(res.HighestVolts, ", formed to %.2f V")},
		{"current", quantity(res.EndCurrent, "%.4f A at the end") + quantity(res.EndDensity, ", %.3f mA/cm2 on the declared area")},
		{"time", quantity(res.RampSeconds, "%.0f s of ramp") + quantity(res.HoldSeconds, ", %.0f s of hold") + quantity(res.EnergisedSeconds, ", %.0f s energised")},
		{"area", quantity(res.DeclaredArea, "%.1f cm2 declared") + quantity(res.LiveArea, ", %.1f cm2 live")},
		{"film", quantity(res.ThicknessByVolts, "%.1f nm by volts") + quantity(res.ThicknessByCharge, ", %.1f nm by charge")},
		{"charge", or(quantity(res.Charge, "%.2f C"), "not known") + quantity(res.SeriesOhm, ", %.2f ohm of leads and bath")},
	} {
		if line.text != "" {
			fmt.Fprintf(w, "  %-10s  %s\n", line.name, strings.TrimPrefix(line.text, ", "))
		}
	}
}

func quantity(value *float64, format string) string {
	if value == nil {
		return ""
	}
	return fmt.Sprintf(format, *value)
}
