package main

import (
	"bytes"
	"fmt"
	"math"
	"os"

	"anodized/controller/colour"
	"anodized/controller/report"
)

// drawReviewed draws a run, or a curve, with its review into a file; "" draws
// nothing. The format is told by the end of the path.
func drawReviewed(path string, one reviewed) error {
	if path == "" {
		return nil
	}
	format, err := report.FormatOf(path)
	if err != nil {
		return badInput(err)
	}
	load, err := one.picture()
	if err != nil {
		return err
	}
	var picture bytes.Buffer
	if err := report.LoadPlot(&picture, format, load); err != nil {
		return notRight(err)
	}
	if err := os.WriteFile(path, picture.Bytes(), 0o644); err != nil {
		return cannot(fmt.Errorf("--plot: %w", err))
	}
	return nil
}

// picture gathers what the plot shows, with the colours that the film had.
func (one reviewed) picture() (report.Load, error) {
	run, v, p := one.run, one.review, one.run.Intent.Plan
	surface, err := surfaceOf(p.Calibration)
	if err != nil {
		return report.Load{}, fmt.Errorf("colours of the film: %w", err)
	}
	load := report.Load{
		Title: titleOf(run), Subtitle: subtitleOf(run), Simulated: v.Simulated,
		Ended: endedWords(v, p.End.Time > 0), Electrical: electricalWords(v), Colour: one.colourWords(),
		Rows: run.Rows, Plan: p, Outcome: run.Result.Outcome, Findings: announced(v.Findings),
		Facts: factsOf(v), Provenance: "Colours computed, not read: " + provenanceOf(p.Calibration) + ".",
		Wanted: wantedSwatch(p.Expected), Difference: math.NaN(),
	}
	for _, at := range v.Trace {
		load.Film = append(load.Film, report.FilmPoint{T: at.T, ByVolts: at.ThicknessByVolts, ByCharge: at.ThicknessByCharge})
	}
	load.Colours = stopsOf(surface, v.Trace)
	if n := len(v.Trace); n > 0 {
		end := v.Trace[n-1].ThicknessByVolts
		load.Now = swatchOf(surface, end)
		e := p.Expected
		load.Difference = colour.Difference(surface.Lab(end), colour.Lab{L: e.Lab[0], A: e.Lab[1], B: e.Lab[2]})
	}
	return load, nil
}
