package main

import (
	"fmt"
	"strings"

	"anodized/controller/fault"
	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/review"
)

// colourWords is the colour verdict while no reading of the parts is on record.
const colourWords = "unknown: no reading of the parts"

// colourWords is the colour verdict in a few words.
func (one reviewed) colourWords() string {
	switch {
	case one.colour.Match != nil:
		return one.colour.Match.line()
	case one.colour.Unmatched != "":
		return "unknown: readings of the parts are on record, and cannot be matched"
	}
	return colourWords
}

// colourText is that in a sentence.
func (one reviewed) colourText() string {
	if one.colour.Match == nil && one.colour.Unmatched == "" {
		return colourWords + " is on record, and a curve cannot show it"
	}
	return one.colourWords()
}

// endedWords is the end of a run in a few words.
func endedWords(v review.Review, byTime bool) string {
	switch {
	case v.Ended.Trip != nil:
		return "tripped: " + string(v.Ended.Trip.Code)
	case v.Run == "":
		short, _, _ := strings.Cut(v.Ended.Why, ":")
		return short
	case v.Ended.Outcome == record.Complete && byTime:
		return "complete, by time"
	case v.Ended.Outcome == record.Complete:
		return "complete, by density"
	case v.Ended.ByEye:
		return "stopped, by eye"
	}
	return string(v.Ended.Outcome)
}

// electricalWords is the electrical verdict and how many findings it stands on.
func electricalWords(v review.Review) string {
	count := len(announced(v.Findings))
	switch {
	case v.Ended.Outcome == journal.Running:
		return "unknown: the run goes on, there is no verdict before its end"
	case v.Verdict.Electrical == review.Unknown && len(v.Usable.Why) > 0:
		return "unknown: " + v.Usable.Why[0]
	case count == 1:
		return string(v.Verdict.Electrical) + ", one finding"
	case count > 1:
		return fmt.Sprintf("%s, %d findings", v.Verdict.Electrical, count)
	}
	return string(v.Verdict.Electrical)
}

// announced are the findings that a person should look at.
func announced(all []fault.Finding) []fault.Finding {
	out := []fault.Finding{}
	for _, finding := range all {
		if finding.Severity != fault.Record {
			out = append(out, finding)
		}
	}
	return out
}

// subtitleOf is what hung, what was wanted, and when.
func subtitleOf(run record.Run) string {
	words := []string{run.Intent.Plan.Rack, "profile " + run.Intent.Plan.Profile}
	if !run.Intent.StartedAt.IsZero() {
		words = append(words, run.Intent.StartedAt.Format("2 January 2006, 15:04"))
	}
	return strings.Join(words, " · ")
}

func provenanceOf(c plan.Calibration) string {
	kind := "measured"
	switch {
	case c.Simulated:
		kind = "SIMULATED"
	case c.Book:
		kind = "book, not measured in this bath"
	}
	return fmt.Sprintf("calibration %s (%s), %s; D65, 2 degree observer, square to the light",
		c.ID, kind, strings.TrimSuffix(c.Provenance, "."))
}

// factsOf are the estimates that stand beside a plot.
func factsOf(v review.Review) []string {
	e := v.Estimates
	return []string{
		"declared area " + figure(e.DeclaredArea, "%.1f cm²"),
		"live area " + figure(e.LiveArea, "%.1f cm²"),
		"series " + figure(e.SeriesOhm, "%.2f ohm") + ", charge " + figure(e.Charge, "%.1f C"),
		"end " + figure(e.EndVolts, "%.2f V") + ", " + figure(e.EndDensity, "%.3f mA/cm²"),
		"film by charge " + figure(e.ThicknessByCharge, "%.1f nm"),
		"ramp " + figure(e.RampSeconds, "%.0f s") + ", hold " + figure(e.HoldSeconds, "%.0f s"),
	}
}

// figure prints a number that may not be known.
func figure(value *float64, format string) string {
	if value == nil {
		return "not known"
	}
	return fmt.Sprintf(format, *value)
}
