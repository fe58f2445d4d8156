package campaign

import (
	"context"
	"fmt"
	"math"

	"anodized/controller/calibrate"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// rung is one coupon of a ladder that was run.
type rung struct {
	reading calibrate.Reading
	film    unit.Nanometres // truly
	kept    string          // its load, in the shop's journal
}

// climb runs a ladder and reads its coupons; one whose load was not complete is thrown away.
func (w *World) climb(ctx context.Context, b *book) (rungs []rung, lost []string, err error) {
	for _, v := range b.volts {
		got, err := w.run(ctx, b, pass{target: profiles.Target{Volts: v}, known: b.known, count: 1, declared: 1})
		if err != nil {
			return nil, nil, err
		}
		if got.Result.Outcome != record.Complete {
			lost = append(lost, got.incomplete(fmt.Sprintf("coupon of %v", v)))
			continue
		}
		rungs = append(rungs, rung{calibrate.Reading{Volts: v, Lab: w.read(got.film, 1)}, got.film, got.kept})
	}
	return rungs, lost, nil
}

// fit fits a ladder with those tables of films that describe it best. Where the readings
// determine nothing, what is known stays the book.
func (w *World) fit(b *book, rungs []rung, films []profiles.Table) (known, calibrate.Fit, error) {
	l := b.ladder
	for _, r := range rungs {
		l.Readings = append(l.Readings, r.reading)
	}
	pairs, err := calibrate.Pairs(l, films, b.metals)
	if err != nil {
		return known{}, calibrate.Fit{}, err
	}
	l.Film, l.Substrate = pairs[0].Film, pairs[0].Substrate
	fit, err := calibrate.FitLadder(l)
	if err != nil || fit.Verdict != calibrate.Good && fit.Verdict != calibrate.Local {
		return b.known, fit, err
	}
	c := fit.Calibration(l.Film, l.Substrate)
	c.ID, c.Metal, c.Bath, c.Simulated = "ladder", b.metal.ID, b.bath.ID, true
	c.Provenance, c.Ramp = "SIMULATED ladder", b.profile.Ramp
	c.Temperature = unit.Celsius(w.parameters.Bath.Celsius)
	surface, err := surfaceOf(l.Film.ID, l.Substrate.ID, c.Index())
	if err == nil {
		err = w.efficiency(&c, rungs)
	}
	return known{c, surface}, fit, err
}

// efficiency takes what the coupons kept of their charge into a calibration, as fitting a
// ladder with the journal of its runs does.
func (w *World) efficiency(c *profiles.Calibration, rungs []rung) error {
	var runs []string
	for _, r := range rungs {
		runs = append(runs, r.kept)
	}
	found, err := w.shop.Efficiency(runs, *c)
	if err == nil && found.Known() {
		c.Efficiency, c.EfficiencySD = found.Median, found.SD/math.Sqrt(float64(len(found.Runs)))
	}
	return err
}
