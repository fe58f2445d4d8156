package main

import (
	"fmt"
	"io"
	"strconv"

	"anodized/controller/plan"
	"anodized/hal/unit"
)

// printPlan writes a plan as the sheet that a person reads before a load.
func printPlan(w io.Writer, p plan.Plan) error {
	t := newTable(w)
	t.row("plan %s", p.ID)
	if p.Simulated {
		t.row("SIMULATED\tfor a virtual bench, not for a real one")
	}
	t.row("profile\t%s", p.Profile)
	t.row("rack\t%s\t%d parts, %.2f cm2 (%s)", p.Rack, p.Parts, float64(p.Area), squareFeet(p.Area))
	t.row("metal, bath\t%s, %s\tbath at %s to %s, law for %s", p.Metal, p.Bath, shown(p.BathWindow.Least), shown(p.BathWindow.Most), shown(p.BathWindow.Law))
	printCalibration(t, p.Calibration, p.Choice)
	t.row("")
	printJob(t, p.Job)
	printNumbers(t, p)
	t.row("")
	printExpected(t, p)
	if err := t.done(); err != nil {
		return err
	}
	return printWarnings(w, p.Warnings)
}

// shown writes a quantity for people, with at most five digits.
func shown[Q unit.Quantity](q Q) string { return unit.Format(Q(rounded(float64(q)))) }

// rounded keeps five digits.
func rounded(x float64) float64 {
	if short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 5, 64), 64); err == nil {
		return short
	}
	return x // cannot be: what FormatFloat writes, ParseFloat reads
}

func printCalibration(t *table, c plan.Calibration, choice *plan.Choice) {
	t.row("calibration\t%s\t%g nm/V (sd %g) + %s, end at %s", c.ID, rounded(c.NMPerVolt), rounded(c.NMPerVoltSD), shown(c.Offset), shown(c.EndCurrentDensity))
	origin := "measured"
	switch {
	case c.Simulated:
		origin = "SIMULATED"
	case c.Book:
		origin = "book"
	}
	t.row("\t%s\t%s", origin, c.Provenance)
	if choice != nil {
		t.row("\tchosen\t%s", choice.Why)
	}
}

func printNumbers(t *table, p plan.Plan) {
	check := p.ContactCheck
	t.row("contact check\tto %.3g V at %s\tcontact from %.3g A on; %.0f s at most", float64(check.Volts), shown(check.Ramp), float64(check.NoContact), float64(check.LongestCheck))
	for i, s := range p.Stages {
		t.row("stage %d\tto %s at %s\t%.0f s of ramp at most", i+1, shown(s.TargetVolts), shown(s.Ramp), float64(s.LongestRamp))
	}
	t.row("ceiling\t%.5g V", float64(p.CeilingVolts))
	t.row("current limit\t%.3f A\t%s, %.2f A/ft2", float64(p.CurrentLimit), shown(p.CurrentDensity), float64(p.CurrentDensity)*0.9290304)
	printEnd(t, p.End)
	printLearned(t, p.Learned)
}

func printEnd(t *table, end plan.End) {
	if end.Time > 0 {
		t.row("end\tafter %s of hold", shown(end.Time))
		return
	}
	t.row("end\tat %.4f A for %s\t%s on the declared area", float64(end.Current), shown(end.Sustained), shown(end.CurrentDensity))
	t.row("hold\t%s to %s", shown(end.LeastHold), shown(end.LongestHold))
}

func printLearned(t *table, l *plan.Learned) {
	if l == nil {
		return
	}
	t.row("live area\t%.1f cm2, +-%.1f\tof %d good loads; %s", float64(l.Area), float64(l.SD), l.Loads, l.Why)
}

func printExpected(t *table, p plan.Plan) {
	e := p.Expected
	shown := e.Hex
	if !e.InGamut {
		shown += " (outside the screen's gamut, shown clipped)"
	}
	t.row("expected colour\t%s %s\tby calibration %s", e.Name, shown, p.Calibration.ID)
	t.row("\tLab %.1f %.1f %.1f\tD65, 2 degree observer, square to the light", e.Lab[0], e.Lab[1], e.Lab[2])
	t.row("film\t%.1f nm, +-%.2g\tknown to +-%.2g V, dE00 %.2g (one standard deviation)", float64(e.Thickness), float64(e.ThicknessSD), float64(e.VoltsSD), e.DE00SD)
	t.row("tolerance\t+-%.2f V for dE00 1\t+-%.2f V for dE00 2", e.Tolerance.DE1, e.Tolerance.DE2)
	t.row("time\t%.0f s check, %.0f s ramp, %.0f s hold\t%s", float64(e.CheckSeconds), float64(e.RampSeconds-e.CheckSeconds), float64(e.HoldSeconds), e.Outcome)
	t.row("ramp current\t%.3f A\t%.2f mA/cm2", float64(e.RampCurrent), float64(e.RampDensity))
	t.row("charge\t%.1f C", float64(e.Charge))
	t.row("hydrogen\t%.1f mL\tat the cathode: vent it", e.HydrogenML)
	t.row("heat\t%.2f kJ", e.HeatKJ)
}

func printWarnings(w io.Writer, warnings []plan.Warning) error {
	for _, warning := range warnings {
		if _, err := fmt.Fprintf(w, "\nwarning (%s): %s\n", warning.Code, warning.Message); err != nil {
			return err
		}
	}
	return nil
}
