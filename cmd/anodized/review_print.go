package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/controller/review"
)

// printReview writes a review for people: end reason, electrical and colour on
// three lines, then the numbers they stand on.
func printReview(w io.Writer, one reviewed) error {
	v := one.review
	t := newTable(w)
	if v.Simulated {
		t.row("SIMULATED")
	}
	t.row("%s · %s", titleOf(one.run), subtitleOf(one.run))
	t.row("")
	if v.Ended.Outcome == record.Refused {
		return printRefusal(t, one.run.Result)
	}
	t.row("ended\t%s", endedWhole(v))
	t.row("electrical\t%s", electricalWords(v))
	t.row("colour\t%s", one.colourText())
	if v.Usable.OK {
		printEstimates(t, v.Estimates)
	}
	if err := t.done(); err != nil {
		return err
	}
	return errors.Join(one.colour.print(w), printSentences(w, v))
}

// printRefusal says why a run never was: it has no curve that shows or hides anything.
func printRefusal(t *table, res record.Result) error {
	t.row("ended\trefused: %s", outcomeMeanings[res.Outcome])
	for _, reason := range res.Reasons {
		t.row("\t%s", reason)
	}
	return t.done()
}

func endedWhole(v review.Review) string {
	if v.Run == "" {
		return v.Ended.Why
	}
	return string(v.Ended.Outcome) + ": " + v.Ended.Why
}

func printEstimates(t *table, e review.Estimates) {
	t.row("")
	if e.LiveArea != nil && e.DeclaredArea != nil {
		t.row("live area\t%.1f cm2\t%.2f of the declared %.1f cm2", *e.LiveArea, *e.LiveArea / *e.DeclaredArea, *e.DeclaredArea)
	} else {
		t.row("live area\t%s", figure(e.LiveArea, "%.1f cm2"))
	}
	t.row("film by volts\t%s", figure(e.ThicknessByVolts, "%.1f nm"))
	t.row("film by charge\t%s\ton the declared area", figure(e.ThicknessByCharge, "%.1f nm"))
	t.row("charge\t%s", figure(e.Charge, "%.2f C"))
	t.row("end\t%s, %s\t%s", figure(e.EndVolts, "%.2f V"), figure(e.EndCurrent, "%.4f A"), figure(e.EndDensity, "%.3f mA/cm2"))
	t.row("formed to\t%s\tthe highest volts of the film", figure(e.HighestVolts, "%.2f V"))
	t.row("ramp, hold\t%s, %s", figure(e.RampSeconds, "%.1f s"), figure(e.HoldSeconds, "%.1f s"))
	t.row("series resistance\t%s", figure(e.SeriesOhm, "%.2f ohm"))
	t.row("onset of growth\t%s", figure(e.OnsetVolts, "%.1f V"))
	t.row("past the parts\t%s\ta leak, or a current that makes no film", leakWords(e.Leak))
}

// leakWords: what the fit leaves below nothing is its scatter.
func leakWords(amperes *float64) string {
	if amperes != nil && *amperes <= 0 {
		return "none seen"
	}
	return figure(amperes, "%.4f A")
}

// printSentences writes what comes as sentences: findings, doubts, limits.
func printSentences(w io.Writer, v review.Review) error {
	findings := make([]string, len(v.Findings))
	for i, finding := range v.Findings {
		findings[i] = findingLine(finding)
	}
	for _, list := range []struct {
		title string
		lines []string
	}{
		{"not usable", v.Usable.Why},
		{"findings", findings},
		{"assumed", v.Assumed},
		{"differs from the record", v.Differs},
		{"the curve cannot show", v.CannotShow},
	} {
		if len(list.lines) == 0 {
			continue
		}
		if _, err := fmt.Fprintf(w, "\n%s\n  %s\n", list.title, strings.Join(list.lines, "\n  ")); err != nil {
			return err
		}
	}
	return nil
}

// findingLine is a finding in one line: when, how bad, what was seen, what to do.
func findingLine(f fault.Finding) string {
	words := record.Escaped(strings.Join(f.Evidence, "; "))
	if words == "" {
		words = string(f.Code)
	}
	line := fmt.Sprintf("%6.1f s  %s, %s: %s (%s)", f.AtSeconds, f.Severity, f.Confidence, words, f.Code)
	if f.Action != "" {
		line += "\n            next: " + f.Action
	}
	if len(f.Confused) > 0 {
		line += "\n            could be: " + strings.Join(f.Confused, "; ")
	}
	return line
}
