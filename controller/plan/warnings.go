package plan

import (
	"math"
	"strings"
)

// Thresholds of the warnings.
const (
	highDensity      = 10   // mA/cm2, the end of what is common practice, no source
	seriesDropAtEnd  = 0.1  // V, for sets of parts that must match; computed
	countsAtEnd      = 5    // steps of the current reading in the end current: our choice
	leastCountsAtEnd = 2    // below these an end by density is refused
	guardVolts       = 50   // V DC, 29 CFR 1910.303(g)(2)(i)
	tightCeiling     = 0.2  // V between target and ceiling: less, and noise trips the run
	areaDoubt        = 0.08 // relative: the end current is only as good as the area
	leastSustained   = 1    // s, some ten readings: our choice
	provableShare    = 0.09 // of the area: three times the 3 % scatter of a rack with a history
	finerReading     = "use a supply with a finer current reading, or hang more area"
)

// warnings returns what a person should know before starting, the gravest first.
func (d *draft) warnings() []Warning {
	var found []Warning
	for _, look := range []func() []Warning{
		d.warnOfSupply, d.warnOfPace, d.warnOfEnd, d.warnOfVolts, d.warnOfWatch,
		d.warnOfJob, d.warnOfCalibration, d.warnOfColour, d.warnOfRack, d.warnOfBench,
	} {
		found = append(found, look()...)
	}
	return found
}

func (d *draft) warnOfSupply() []Warning {
	var found []Warning
	supply, p := d.Supply, d.plan
	wanted := d.Profile.CurrentDensity.At(p.Area)
	if supply.HighestAmperes > 0 && wanted > supply.HighestAmperes {
		found = append(found, warn(LimitedBySupply, "%v on %s are %s, and this supply has %v: the limit is the supply's; hang fewer parts for the full density", p.CurrentDensity, show(p.Area), show(wanted), supply.HighestAmperes))
	}
	if half := p.Expected.Tolerance.DE1; supply.VoltStep > 0 && half < float64(supply.VoltStep) {
		found = append(found, warn(SupplyStepTooCoarse, "the colour keeps within dE00 1 for +-%.2g V, and this supply sets volts in steps of %v: expect steps between loads, or choose a colour with a wider window", half, supply.VoltStep))
	}
	return append(append(found, d.warnOfLeast()...), d.warnOfReading()...)
}

func (d *draft) warnOfReading() []Warning {
	step, end := d.Supply.AmpereStep, d.plan.End
	switch {
	case step == 0 || end.Time > 0:
		return nil
	case end.Current >= countsAtEnd*step:
		return d.warnOfStep()
	case end.Current < leastCountsAtEnd*step:
		return []Warning{warn(ReadbackTooCoarse, "the run ends at %s and this supply reads amperes in steps of %v: an end by density will be refused; %s, or end by time", show(end.Current), step, finerReading)}
	}
	return []Warning{warn(ReadbackTooCoarse, "the run ends at %s and this supply reads amperes in steps of %v: the end is known to few counts; %s, or end by time", show(end.Current), step, finerReading)}
}

// warnOfStep tells what one step of the current reading is in colour, where a load may end a
// step sooner than the last one and look different: on 200 virtual baths with 15 steps to
// the end, two loads were up to 3.1 apart, and 1.8 with 30 (SIMULATED).
func (d *draft) warnOfStep() []Warning {
	step, end, e := d.Supply.AmpereStep, d.plan.End, d.plan.Expected
	film := float64(e.Thickness) * math.Log1p(float64(step/end.Current)) / d.law.Softness(d.Profile.End.CurrentDensity)
	differs := film / e.NMPerVolt / e.Tolerance.DE1
	if !(differs > 1) || !(e.Tolerance.DE1 > 0) {
		return nil
	}
	return []Warning{warn(ReadbackTooCoarse, "the run ends at %s and this supply reads amperes in steps of %v: two loads may end a step apart, which is %.2g nm or dE00 %.1f here; measure this one and step it up to the last, or %s", show(end.Current), step, film, differs, finerReading)}
}

func (d *draft) warnOfPace() []Warning {
	var found []Warning
	p := d.plan
	if p.Expected.LimitedByAmps {
		rate := d.law.RampRate(d.limit.Over(p.Area))
		found = append(found, warn(LimitedByCurrent, "limited by amps: %s of %v, about %s to %s; no fault, the bath sets the pace", show(rate), p.Ramp, show(p.Expected.RampSeconds), show(p.TargetVolts)))
	}
	if p.CurrentDensity > highDensity {
		found = append(found, warn(HighCurrentDensity, "%v is more than the %d mA/cm2 of common practice: films can burn; lower it unless you know this bath", p.CurrentDensity, highDensity))
	}
	return found
}

// warnOfWatch: a load that is watched otherwise than the last ones says so.
func (d *draft) warnOfWatch() []Warning {
	moved := d.Profile.Watch.Moved()
	if len(moved) == 0 {
		return nil
	}
	return []Warning{warn(ThresholdsMoved, "this profile moves what the load is judged by: %s; where nobody remembers why, take its watch out", strings.Join(moved, ", "))}
}

func (d *draft) warnOfEnd() []Warning {
	var found []Warning
	end, series := d.plan.End, d.series
	if d.plan.Expected.Outcome == timeRanOut {
		found = append(found, warn(HoldWillRunOut, "the current will not be down to %v within the longest hold of %s: the run will end as time-ran-out, a thinner film and another colour; raise the longest hold or the end current density", end.CurrentDensity, show(end.LongestHold)))
	}
	if end.Time == 0 && end.Sustained < leastSustained {
		found = append(found, warn(EndNotSustained, "the end current counts after %s: a single dip of the reading could end the run; ask for 5 s", show(end.Sustained)))
	}
	if drop := float64(series) * float64(end.Current); end.Time == 0 && drop > seriesDropAtEnd {
		found = append(found, warn(SeriesDrop, "leads and bath take about %.2g V at the end, which the film does not get: for parts that must match use thicker leads, nearer plates or a stronger bath", drop))
	}
	return found
}

func (d *draft) warnOfVolts() []Warning {
	var found []Warning
	p := d.plan
	if room := p.CeilingVolts - p.TargetVolts; room < tightCeiling {
		found = append(found, warn(CeilingTight, "the ceiling is only %s above the target, and the run trips above it once: leave it out for %s", show(room), show(ceilingOver(p.TargetVolts))))
	}
	if p.CeilingVolts >= guardVolts {
		found = append(found, warn(GuardRequired, "live parts at %d V DC or more must be guarded (29 CFR 1910.303(g)(2)(i)), and in a wet place lower limits apply: keep the lid's switch in the hardware chain; local codes and licensed practice decide", guardVolts))
	}
	return found
}
