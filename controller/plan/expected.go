package plan

import (
	"fmt"
	"strings"

	"anodized/controller/colour"
	"anodized/controller/film"
	"anodized/hal/unit"
)

// expected is what the run should show. The film is reckoned for the plan's own end
// criterion; where the hold ends otherwise, for the density that it ends at.
func (d *draft) expected(t target, out film.Outcome) Expected {
	d.ended = t.end
	if d.endsOtherwise(out) {
		d.ended = out.EndDensity
	}
	scale, known := d.scale(d.ended), d.sureness(t.volts, d.ended)
	view := d.Surface.At(scale, t.volts)
	e := Expected{
		Thickness: view.Thickness, ThicknessSD: unit.Nanometres(known.film), VoltsSD: unit.Volts(known.film / scale.NMPerVolt),
		NMPerVolt: scale.NMPerVolt, NMPerVoltSD: known.nmPerVolt, Lab: view.Lab.Array(), Hex: view.Screen.Hex(), InGamut: view.Screen.InGamut, Name: view.Name,
		Tolerance:    Tolerance{DE1: float64(view.Tolerance.DE1), DE2: float64(view.Tolerance.DE2)},
		CheckSeconds: out.CheckSeconds, RampSeconds: out.CheckSeconds + out.RampSeconds, HoldSeconds: out.HoldSeconds,
		RampCurrent: out.RampCurrent, RampDensity: out.RampDensity, Charge: out.Charge,
		HydrogenML: out.HydrogenML, HeatKJ: out.HeatKilojoules, Outcome: complete, LimitedByAmps: out.Limited,
	}
	if view.Tolerance.DE1 > 0 {
		e.DE00SD = float64(e.VoltsSD / view.Tolerance.DE1)
	}
	if out.TimeRanOut {
		e.Outcome = timeRanOut
	}
	return e
}

// endsOtherwise tells whether the run ends at another density than the one its
// target was reckoned for: time ran out, the least hold outlasts the criterion, or
// a film from an earlier run never let more current through.
func (d *draft) endsOtherwise(out film.Outcome) bool {
	end, density := d.plan.End, d.Profile.End.CurrentDensity
	if end.Time > 0 || out.TimeRanOut || out.RampDensity < density {
		return true
	}
	sooner := d.law.HoldExact(film.HoldCase{
		Volts: d.plan.TargetVolts, Area: d.area.Total, Series: d.series,
		From: out.RampDensity, To: density,
	})
	return sooner+end.Sustained < end.LeastHold
}

const (
	// looksAlike is the colour difference below which two orders are taken for each other.
	looksAlike = 3
	// apart is how far in volts another order is at least.
	apart unit.Volts = 10
)

func (d *draft) warnOfColour() []Warning {
	var found []Warning
	if d.Metal.Indicative {
		found = append(found, warn(IndicativeMetal, "colours of %s are indicative only, no good optical constants are known: make a coupon first", d.Metal.Name))
	}
	if !d.plan.Expected.InGamut {
		found = append(found, warn(ColourOutOfGamut, "no screen can show this colour, %s is the nearest: judge the coupon, not the swatch", d.plan.Expected.Hex))
	}
	if twins := d.lookAlikes(); len(twins) > 0 {
		found = append(found, warn(LookAlike, "other orders look alike: %s; colour alone does not tell them apart, so note the volts with the parts", strings.Join(twins, ", ")))
	}
	return found
}

func (d *draft) lookAlikes() []string {
	high := max(highestColour, d.Supply.HighestVolts, d.plan.TargetVolts)
	scale := d.scale(d.ended)
	chart, err := d.Surface.Chart(scale, leastColour, high, twinStep)
	if err != nil {
		return nil // target and range were checked; without a chart there is nothing to warn of
	}
	lab := d.plan.Expected.Lab
	var twins []string
	for _, c := range chart.Best(colour.Lab{L: lab[0], A: lab[1], B: lab[2]}, candidates) {
		if c.DE00 < looksAlike && (c.Volts > d.plan.TargetVolts+apart || c.Volts < d.plan.TargetVolts-apart) {
			twins = append(twins, fmt.Sprintf("%s (dE00 %.1f)", show(c.Volts), c.DE00))
		}
	}
	return twins
}
