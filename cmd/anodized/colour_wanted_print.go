package main

import (
	"fmt"
	"strings"

	"anodized/controller/choose"
)

func (b *colourBasis) printWanted(e env, w wanted) error {
	t := newTable(e.stdout)
	b.printSeen(t)
	t.row("")
	c, want := w.choice, w.choice.Wanted
	t.row("wanted\tL* a* b* %.2f  %.2f  %.2f\t%s%s", want.L, want.A, want.B, or(w.word.Name, want.LCh().Name()), swatch(e, b.surface.OnScreen(want.XYZ(b.surface.White()))))
	if w.word.Says != "" {
		t.row("taken for\t%s", w.word.Says)
	}
	if !c.Reachable {
		for _, miss := range c.Misses {
			t.row("%s.", miss.Message)
		}
		t.row("not reachable, the nearest are:")
	}
	t.row("V\tnm\torder\tdE00\tL*\ta*\tb*\t+- V\tcolour\tscreen")
	for _, one := range c.Candidates {
		t.row("%.2f\t%.1f\t%d\t%.2f\t%.1f\t%.1f\t%.1f\t%.2f\t%s\t%s", float64(one.Volts), float64(one.Thickness), one.Order, one.DE00,
			one.Lab.L, one.Lab.A, one.Lab.B, float64(one.Tolerance.DE1), one.Name, onScreen(e, one.Screen))
	}
	t.row("")
	b.printChoice(t, w)
	t.row("dE00 is the CIEDE2000 difference from the wanted colour, +- V the tolerance for CIEDE2000 1")
	b.printProvenance(t)
	return t.done()
}

// printChoice tells what to know of each film that counts, or of the nearest. Where a
// name was asked for, all films that bear it count.
func (b *colourBasis) printChoice(t *table, w wanted) {
	named := w.word.Name != "" && w.hex == "" && w.choice.Reachable
	for i, one := range w.choice.Candidates {
		if i > 0 && one.DE00 > choose.Reachable && !named {
			break
		}
		b.printCandidate(t, one)
	}
	if flat := w.choice.Flattest; flat != nil {
		t.row("where the volts matter least near this hue: %.1f V, %s, +- %.2f V, dE00 %.1f from the wanted",
			float64(flat.Volts), flat.Name, float64(flat.Tolerance.DE1), flat.DE00)
		t.row("")
	}
}

func (b *colourBasis) printCandidate(t *table, c choose.Candidate) {
	known := fmt.Sprintf("the calibration knows these volts to +- %.1f V (1 sd)", b.voltsSD(c.Volts))
	if !b.calibration.Covers(c.Volts) {
		known += ", and its coupons do not reach them"
	}
	t.row("at %.2f V: %s; %s", float64(c.Volts), c.Name, known)
	like := make([]string, len(c.Alike))
	for i, other := range c.Alike {
		like[i] = fmt.Sprintf("%.1f V (order %d, %s, dE00 %.1f)", float64(other.Volts), other.Order, other.Lab.LCh().Name(), other.DE00)
	}
	if len(like) > 0 {
		t.row("  looks like\t%s", strings.Join(like, ", "))
	}
	for _, lamp := range c.Lamps {
		if lamp.Illuminant != b.light.ID {
			t.row("  under %s\t%s", lamp.Illuminant, shiftWords(c.Name, lamp))
		}
	}
	for _, tilt := range c.Tilts {
		t.row("  at %g degrees\t%s", tilt.AngleDegrees, shiftWords(c.Name, tilt))
	}
	t.row("")
}

// shiftWords says what becomes of a colour; another name stands in capitals.
func shiftWords(name string, s choose.Shift) string {
	if s.Renamed {
		return fmt.Sprintf("TURNS FROM %s TO %s, dE00 %.1f", strings.ToUpper(name), strings.ToUpper(s.Name), s.DE00)
	}
	return fmt.Sprintf("%s, dE00 %.1f", s.Name, s.DE00)
}
