package main

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"os"

	"anodized/controller/colour"
	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/controller/report"
	"anodized/controller/review"
	"anodized/hal/unit"
)

// draw makes the picture of a load that was asked for, from its record. A load
// that was never energised has none, which is said.
func (j *job) draw(e env, kept *journal.Journal, result record.Result) error {
	if j.flags.plot == "" {
		return nil
	}
	if result.EndVolts == nil {
		fmt.Fprintf(e.stderr, "anodized: --plot: nothing was energised, so there is nothing to draw\n")
		return nil
	}
	run, err := kept.Run(result.Run)
	if err != nil {
		return fmt.Errorf("--plot: %w", err)
	}
	return plotRun(j.flags.plot, j.format, run)
}

// plotRun draws a recorded run into a file.
func plotRun(path string, format report.Format, run record.Run) error {
	surface, err := surfaceOf(run.Intent.Calibration.Film, run.Intent.Calibration.Substrate)
	if err != nil {
		return fmt.Errorf("--plot: %w", err)
	}
	var picture bytes.Buffer
	if err := report.LoadPlot(&picture, format, loadPicture(run, surface)); err != nil {
		return fmt.Errorf("--plot: %w", err)
	}
	if err := os.WriteFile(path, picture.Bytes(), 0o644); err != nil {
		return fmt.Errorf("--plot: %w", err)
	}
	return nil
}

// loadPicture is a recorded run as it is drawn, its colours from the surface.
func loadPicture(run record.Run, surface *colour.Surface) report.Load {
	seen, in := review.OfRun(run), run.Intent
	load := report.Load{
		Title: "load " + run.ID, Subtitle: in.Rack.Name + ", " + in.Profile.Name + ", " + in.StartedAt.Format("2006-01-02 15:04"),
		Simulated: seen.Simulated, Ended: seen.Ended.Why, Electrical: string(seen.Verdict.Electrical), Colour: seen.Verdict.Colour,
		Rows: run.Rows, Plan: in.Plan, Outcome: run.Result.Outcome, Findings: seen.Findings,
		Wanted: filmSwatch(surface, in.Plan.Expected.Thickness), Difference: math.NaN(), Facts: loadFacts(run.Result),
		Provenance: "colours from calibration " + in.Calibration.ID + ": " + in.Calibration.Provenance,
	}
	load.Wanted.Volts, load.Wanted.Tolerance = in.Plan.TargetVolts, unit.Volts(in.Plan.Expected.Tolerance.DE1)
	for _, point := range seen.Trace {
		load.Film = append(load.Film, report.FilmPoint{T: point.T, ByVolts: point.ThicknessByVolts, ByCharge: point.ThicknessByCharge})
	}
	load.Colours = filmStops(surface, load.Film)
	if last := run.Result.ThicknessByVolts; last != nil {
		load.Now = filmSwatch(surface, unit.Nanometres(*last))
		load.Difference = colour.Difference(surface.Lab(unit.Nanometres(*last)), surface.Lab(in.Plan.Expected.Thickness))
	}
	return load
}

func filmSwatch(surface *colour.Surface, d unit.Nanometres) report.Swatch {
	seen := surface.Screen(d)
	return report.Swatch{Name: surface.Lab(d).LCh().Name(), Hex: seen.Hex(), Thickness: d, Beyond: !seen.InGamut,
		Colour: color.NRGBA{R: seen.Red, G: seen.Green, B: seen.Blue, A: 255}}
}

// filmStops are the colours of the film over time, evenly thinned.
func filmStops(surface *colour.Surface, film []report.FilmPoint) []report.Stop {
	every := max(1, (len(film)+report.MostStops-1)/report.MostStops)
	var stops []report.Stop
	for i := 0; i < len(film); i += every {
		if d := film[i].ByVolts; !math.IsNaN(float64(d)) {
			stops = append(stops, report.Stop{T: film[i].T, Colour: filmSwatch(surface, d).Colour})
		}
	}
	return stops
}

func loadFacts(res record.Result) []string {
	var facts []string
	for _, fact := range []string{
		quantity(res.DeclaredArea, "declared %.1f cm²"), quantity(res.LiveArea, "live %.1f cm²"), quantity(res.Charge, "charge %.2f C"),
		quantity(res.SeriesOhm, "leads and bath %.2f ohm"), quantity(res.HoldSeconds, "hold %.0f s"),
	} {
		if fact != "" {
			facts = append(facts, fact)
		}
	}
	return facts
}
