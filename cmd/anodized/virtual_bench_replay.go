package main

import (
	"fmt"
	"io"
	"math"
	"os"

	"github.com/spf13/cobra"

	"anodized/controller/campaign"
	"anodized/profiles"
)

// replaySeed runs the load of one seed again and tells what it was and what came of it.
func replaySeed(command *cobra.Command, e env, f campaignFlags) error {
	surface, err := surfaceOf(profiles.Calibration{Film: "TiO2-Jolivet-amorphous", Substrate: "Ti-Johnson"})
	if err != nil {
		return cannot(err)
	}
	r, err := campaign.Replay(command.Context(), f.replay, surface)
	if err != nil {
		return cannot(err)
	}
	if f.json {
		err = printJSON(e.stdout, r.Tell())
	} else {
		err = printReplay(e.stdout, r)
	}
	if err != nil {
		return cannot(fmt.Errorf("print the run: %w", err))
	}
	if len(r.Violations) > 0 || r.FalseTrip() != "" {
		return notRight(fmt.Errorf("seed %d: %d violations, false trip %q", f.replay, len(r.Violations), r.FalseTrip()))
	}
	return nil
}

func printReplay(w io.Writer, r campaign.Report) error {
	p := &lines{w: w}
	t := r.Tell()
	p.line("SIMULATED: seed %d, %s", t.Seed, t.Block)
	for _, what := range t.Injected {
		p.line("injected: %s", what)
	}
	p.line("load: %d parts, %.1f cm2 declared, %.1f cm2 true, %.2f V at %.2f V/s, limit %.4g A, end %.4g A, tick %v", t.Parts, t.DeclaredArea, t.TrueArea,
		t.TargetVolts, t.Ramp, t.Limit, t.End, t.Tick)
	p.line("bench: %+v", t.Bench)
	if !math.IsNaN(r.Onset) {
		p.line("began to show: %.2f s after on, %s, %.2f V, %.4g A, limited %v, %.1f s after the target was reached", r.Onset, r.OnsetState, r.OnsetVolts, r.OnsetAmperes, r.OnsetLimited, r.OnsetHeld)
	}
	p.line("came of it: %s", t.Verdict)
	p.line("outcome: %s, first cause %s", r.Result.Outcome, r.FirstCause())
	if r.Result.Trip != nil {
		p.line("trip: %s: %s", r.Result.Trip.Code, r.Result.Trip.Message)
	}
	for _, reason := range r.Result.Reasons {
		p.line("reason: %s", reason)
	}
	for _, f := range r.Result.Findings {
		p.line("finding at %.1f s: %s (%s): %v", f.AtSeconds, f.Code, f.Severity, f.Evidence)
	}
	for _, v := range r.Violations {
		p.line("VIOLATION: %s: %s", v.Invariant, v.Detail)
	}
	p.line("result:")
	if p.err != nil {
		return p.err
	}
	return printJSON(w, r.Result)
}

// writeReport writes the report for people and for programs; no name, no files.
func writeReport(name string, o campaign.Outcome) error {
	if name == "" {
		return nil
	}
	if err := os.WriteFile(name+".md", []byte(campaign.Markdown(o)), 0o644); err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	file, err := os.Create(name + ".json")
	if err != nil {
		return fmt.Errorf("write the report: %w", err)
	}
	err = printJSON(file, o)
	if closed := file.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", file.Name(), err)
	}
	return nil
}
