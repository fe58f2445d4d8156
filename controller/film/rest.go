package film

import "anodized/hal/unit"

// hold follows the hold in closed form and completes the outcome.
func (b *body) hold(l Load, out *Outcome) {
	from := HoldCase{Volts: l.Target, Area: l.Area, Series: l.Series, From: out.RampDensity}
	out.HoldSeconds, out.TimeRanOut = holdSeconds(l, from)
	start, began := b.film, b.time
	for b.until() <= began+float64(out.HoldSeconds)-b.time {
		b.rest(from, start, b.time-began+b.until(), began)
		b.see()
	}
	b.rest(from, start, float64(out.HoldSeconds), began)
	end := b.now()
	out.EndCurrent, out.EndDensity = end.Amperes, end.Amperes.Over(l.Area)
	out.Thickness, out.Charge = end.Thickness, end.Charge
	out.HydrogenML = HydrogenML(end.Charge)
	out.HeatKilojoules = b.heat / 1000
}

// rest goes to a moment of the hold. At constant volts the film follows from the
// current, and the heat from the charge.
func (b *body) rest(from HoldCase, start, held, began float64) {
	density := b.law.DensityAfter(from, unit.Seconds(held))
	across := b.set - b.series*b.area*float64(density)*milli
	grown := max(start, float64(b.law.Thickness(unit.Volts(across), density)))
	b.heat += b.set * (grown - b.film) * b.area / (b.law.Efficiency * b.law.KF)
	b.film, b.time = grown, began+held
}

// holdSeconds returns how long the hold lasts, and whether the longest hold ends
// it before the criterion is met.
func holdSeconds(l Load, h HoldCase) (unit.Seconds, bool) {
	if l.End.Time > 0 {
		return l.End.Time, false
	}
	h.To = l.End.Density
	met := max(0, l.Law.HoldExact(h)) + l.End.Sustained
	if h.From < h.To {
		met = l.End.Sustained
	}
	met = max(met, l.End.Least)
	if l.End.Longest > 0 && met > l.End.Longest {
		return l.End.Longest, true
	}
	return met, false
}
