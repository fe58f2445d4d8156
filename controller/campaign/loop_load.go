package campaign

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"anodized/controller/colour"
	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/hal/virtual/plant"
	"anodized/profiles"
)

// pass is one load of a world.
type pass struct {
	target   profiles.Target
	known    known   // what it is planned by
	warmer   float64 // K than at the ladder
	count    int     // of parts
	declared float64 // area, times the true one
	formed   unit.Volts
	film     unit.Nanometres // that the parts carry; 0: the native film
	held     unit.Seconds    // a timed hold; 0: the usual end
	rack     string          // its name; "": one that nobody asks for again
	learned  learned         // of that rack
}

// learned is what the shop's journal knows of a rack.
type learned struct {
	history plan.History
	adopted *plan.Adopted
}

// known is a calibration with its surface.
type known struct {
	calibration profiles.Calibration
	surface     *colour.Surface
}

// dipped is what became of it.
type dipped struct {
	Report
	film unit.Nanometres // truly, as the power went off
	kept string          // its name in the shop's journal
}

// run plans a load and runs it through the Station on the world's plant.
func (w *World) run(ctx context.Context, b *book, l pass) (dipped, error) {
	w.runs++
	p := w.parameters
	p.Bath.Celsius += l.warmer
	p.Bath.Room = p.Bath.Celsius
	area := partArea * float64(l.count)
	series := w.series * 200 / area
	p.Cell = plant.Cell{LeadOhms: 0.04 * series, BathOhms: 0.96 * series}
	c := Case{Seed: w.Seed*1000 + w.runs, Tick: 100 * time.Millisecond, Jitter: 0.3, Replayed: true}
	c.Setup = virtual.Setup{Seed: c.Seed, Parameters: &p, Tick: c.Tick, HighestVolts: 120, HighestAmperes: unit.Amperes(0.012 * area),
		Chain: true, Parts: []virtual.Part{{Area: partArea, Count: l.count, Native: l.film}}}
	c.Request = b.request(l)
	c.Request.Temperature = unit.Celsius(p.Bath.Celsius)
	w.meter(&p, area)
	r, err := Run(ctx, c)
	w.violations = append(w.violations, r.Violations...)
	if err != nil {
		return dipped{Report: r}, fmt.Errorf("world %d, load %d: %w", w.Seed, w.runs, err)
	}
	if len(r.AtEnd.Film) == 0 {
		return dipped{Report: r}, fmt.Errorf("world %d, load %d: %s, %v", w.Seed, w.runs, r.Result.Outcome, r.Result.Reasons)
	}
	kept, err := keep(ctx, w.shop, r)
	return dipped{r, unit.Nanometres(r.AtEnd.Film[0]), kept}, err
}

// request is what the shop knows of a load.
func (b *book) request(l pass) plan.Request {
	r := plan.Request{Profile: b.profile, Metal: b.metal, Bath: b.bath, Calibration: l.known.calibration, Surface: l.known.surface,
		Supply: plan.SupplyLimits{HighestVolts: 120}, Simulated: true, History: l.learned.history, Adopted: l.learned.adopted}
	r.Profile.Target, r.Profile.Ceiling = l.target, 0
	r.Profile.End.LongestHold = 0 // the plan works one out for these volts
	if l.held > 0 {
		r.Profile.End = profiles.End{Time: l.held}
	}
	r.Rack = profiles.Rack{Name: cmp.Or(l.rack, "drawn rack"), FormedTo: l.formed, Parts: []profiles.Part{{Name: "headset spacer", Count: l.count, Wetted: 1,
		Roughness: 1, Shape: profiles.Shape{Area: unit.SquareCentimetres(partArea * l.declared)}}}}
	return r
}
