package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/controller/review"
	"anodized/hal/unit"
	"anodized/profiles"
)

// reviewCurve reads a curve, makes the plan that it is judged against, and reviews
// it. The curve becomes a run without a record, so that it can be drawn.
func reviewCurve(e env, f reviewFlags) (reviewed, error) {
	content, err := profiles.ReadFile(f.curve, e.stdin)
	if err != nil {
		return reviewed{}, badInput(fmt.Errorf("curve: %w", err))
	}
	read, err := profiles.ReadCurve(f.curve, content)
	if err != nil {
		return reviewed{}, badInput(err)
	}
	curve := review.NewCurve(read)
	rows, facts := curve.Phased()
	planned, assumed, err := planForCurve(e, f, facts, curve.Simulated)
	if err != nil {
		return reviewed{}, err
	}
	v := review.OfCurve(curve, planned, assumed)
	run := record.Run{Rows: rows, Intent: record.Intent{Plan: planned, Calibration: planned.Calibration, Simulated: curve.Simulated}}
	run.ID = curveName(f.curve)
	return reviewed{run: run, review: v}, nil
}

func curveName(path string) string {
	if path == "-" {
		return "curve from standard input"
	}
	return "curve " + filepath.Base(path)
}

// leastVolts is the highest volts below which a curve has formed nothing.
const leastVolts unit.Volts = 1

// planForCurve is the plan that a curve is judged against, and what of it was taken
// because nobody said it.
func planForCurve(e env, f reviewFlags, facts review.Facts, simulated bool) (plan.Plan, []string, error) {
	if facts.Target < leastVolts {
		return plan.Plan{}, nil, badInput(fmt.Errorf("the curve never exceeds %.2f V: nothing was formed, there is nothing to review", float64(facts.Target)))
	}
	area, err := areaFlag(f.area)
	if err != nil {
		return plan.Plan{}, nil, badInput(err)
	}
	var kept frozen
	assumed, err := kept.forCurve(e, f, area, facts)
	if err != nil {
		return plan.Plan{}, nil, badInput(err)
	}
	request, err := kept.request()
	if err != nil {
		return plan.Plan{}, nil, err
	}
	request.Simulated = simulated // where the curve does not say so, a simulated calibration is none
	made, err := plan.Build(request)
	if err != nil {
		return plan.Plan{}, nil, badInput(fmt.Errorf("plan for the curve: %w", err))
	}
	if area > 0 {
		made = onArea(made, area)
	}
	return made, assumed, nil
}

func areaFlag(text string) (unit.SquareCentimetres, error) {
	if text == "" {
		return 0, nil
	}
	area, err := unit.Parse[unit.SquareCentimetres](text)
	if err != nil {
		return 0, fmt.Errorf("--area: %w", err)
	}
	if !(area > 0) {
		return 0, fmt.Errorf("--area %s: it must be above 0", text)
	}
	return area, nil
}

// forCurve opens what was given and takes the rest from the curve and the defaults.
func (k *frozen) forCurve(e env, f reviewFlags, area unit.SquareCentimetres, facts review.Facts) (assumed []string, err error) {
	if k.Profile, err = profiles.OpenProfile(or(f.profile, profiles.DefaultProfile), e.stdin); err != nil {
		return nil, err
	}
	if f.profile == "" {
		assumed = k.followCurve(facts, area)
	}
	k.Rack = areaAlone(area)
	if f.rack != "" {
		if k.Rack, err = openRack(f.rack, e.stdin); err != nil {
			return nil, err
		}
	} else {
		assumed = append(assumed, "one part: how many parts hang is not known, so a lost part is told from half the area on")
	}
	for _, open := range []func(planFlags) error{k.openMetal, k.openBath, k.openCalibration} {
		if err := open(f.planFlags); err != nil {
			return nil, err
		}
	}
	if f.profile == "" {
		assumed = append(assumed, fmt.Sprintf("metal %s, bath %s, calibration %s", k.Metal.ID, k.Bath.ID, k.Calibration.ID))
	}
	return assumed, nil
}

// followCurve makes the default profile into one that wanted what the curve did.
func (k *frozen) followCurve(facts review.Facts, area unit.SquareCentimetres) []string {
	p := &k.Profile
	p.Name, p.Note, p.Ceiling = "not given", "", 0
	p.Target = profiles.Target{Volts: facts.Target}
	p.Ramp = max(0.01, min(facts.Ramp, 10))
	if facts.Limit > 0 && area > 0 {
		p.CurrentDensity = max(facts.Limit.Over(area), 2*p.End.CurrentDensity)
	}
	words := []string{fmt.Sprintf("target %.2f V and ramp %.2f V/s, as the curve has them", float64(p.Target.Volts), float64(p.Ramp))}
	return append(words, fmt.Sprintf("end at %s for %s, as in the profile %q", p.End.CurrentDensity, p.End.Sustained, profiles.DefaultProfile))
}

func areaAlone(area unit.SquareCentimetres) profiles.Rack {
	return profiles.Rack{Name: "area as given", Parts: []profiles.Part{
		{Name: "area as given", Count: 1, Shape: profiles.Shape{Area: area}, Wetted: 1, Roughness: 1}}}
}

// onArea declares another area for a plan: currents go with it, densities stay.
func onArea(p plan.Plan, area unit.SquareCentimetres) plan.Plan {
	share := float64(area) / float64(p.Area)
	p.Area = area
	p.LargestPart *= unit.SquareCentimetres(share)
	p.SmallestPart *= unit.SquareCentimetres(share)
	p.CurrentLimit *= unit.Amperes(share)
	p.End.Current *= unit.Amperes(share)
	p.ContactCheck.NoContact *= unit.Amperes(share)
	stages := make([]plan.Stage, len(p.Stages))
	for i, stage := range p.Stages {
		stage.CurrentLimit *= unit.Amperes(share)
		stage.End.Current *= unit.Amperes(share)
		stages[i] = stage
	}
	p.Stages = stages
	return p
}

// titleOf is what a reviewed run is called.
func titleOf(run record.Run) string {
	if strings.HasPrefix(run.ID, "curve ") {
		return run.ID
	}
	return "load " + run.ID
}
