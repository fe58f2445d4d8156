package profiles

import (
	"fmt"
	"math"

	"anodized/hal/unit"
)

// analog reads a supply behind converters. Its address, by which a bench is known,
// is the place of the converter that sets its voltage.
func (r *report) analog(n *node, s *SupplyEntry) {
	a := &AnalogEntry{}
	s.Analog = a
	g := r.fields(n, "an analogue supply", []field{
		need("driver", "analog", driver(&s.Driver, supplyDrivers)),
		need("highest voltage", "120 V", quantity(&s.HighestVoltage, 1, 300)),
		need("highest current", "5 A", quantity(&s.HighestCurrent, 0.001, 200)),
		need("enable", "{line: SUPPLY-ENABLE}", func(r *report, n *node) { r.enable(n, &a.Enable) }),
		need("settle", "150 ms", duration(&a.Settle, 0, 5)),
		need("mains return", "halted", choice(&a.MainsReturn, "halted", "as_before", "energised", "unknown")),
		need("set voltage", "{chip: mcp4725, ...}", func(r *report, n *node) { r.output(n, "V", &a.SetVoltage) }),
		may("set current", made(&a.SetCurrent, func(r *report, n *node, c *ConverterEntry) { r.output(n, "A", c) })),
		may("fixed current", quantity(&a.FixedLimit, 0.001, 200)),
		need("read voltage", "{chip: ads1115, ...}", func(r *report, n *node) { r.input(n, "V", &a.ReadVoltage) }),
		need("read current", "{chip: ina226, ...}", func(r *report, n *node) { r.input(n, "A", &a.ReadCurrent) }),
	})
	s.Address = a.SetVoltage.Device()
	s.Dialect.MainsReturn, s.Dialect.Settle = a.MainsReturn, a.Settle
	if r.exactlyOne(n, g, "an analogue supply", "set current", "fixed current") {
		r.reach(g, s)
		r.shared(g, a)
	}
}

func (r *report) enable(n *node, e *EnableEntry) {
	e.Closed = "high"
	r.fields(n, "an enable contact", []field{
		need("line", "SUPPLY-ENABLE", lineName(&e.Line)),
		may("chip", deviceFile(&e.Chip, "/dev/gpiochip0")),
		may("closed level", choice(&e.Closed, "high", "low")),
	})
}

// reach holds the ends of the scales against the highest values.
func (r *report) reach(g given, s *SupplyEntry) {
	a, volts, amperes := s.Analog, float64(s.HighestVoltage), float64(s.HighestCurrent)
	if g.all("highest voltage", "set voltage") {
		r.ends(g.good["set voltage"], a.SetVoltage, volts, 1, "V", "the highest voltage")
		r.deadBand(g.good["set voltage"], a.SetVoltage, volts, "V")
	}
	if g.all("highest voltage", "read voltage") {
		r.ends(g.good["read voltage"], a.ReadVoltage, volts, 1.02, "V", "2 % above the highest voltage, to see an over-voltage")
	}
	if g.all("highest current", "read current") {
		r.ends(g.good["read current"], a.ReadCurrent, amperes, 1.02, "A", "2 % above the highest current")
	}
	if g.all("highest current", "set current") {
		r.ends(g.good["set current"], *a.SetCurrent, amperes, 1, "A", "the highest current")
		r.deadBand(g.good["set current"], *a.SetCurrent, amperes, "A")
	}
	if g.all("highest current", "fixed current") && a.FixedLimit > s.HighestCurrent {
		r.say(g.good["fixed current"], "fixed current: %v A is above the highest current of %v A", float64(a.FixedLimit), amperes)
	}
}

func (r *report) ends(n *node, c ConverterEntry, highest, margin float64, symbol, what string) {
	if end := c.trueEnd(); end < highest*margin-1e-9 {
		r.say(n, "%s%s ends at %.4g %s; it must reach %s, %.4g %s", prefix(n), c.Chip, end, symbol, what, highest*margin, symbol)
	}
}

// shared refuses a channel that is used twice, and two chips at one place.
func (r *report) shared(g given, a *AnalogEntry) {
	seen := map[string]ConverterEntry{}
	for _, e := range []struct {
		key  string
		chip *ConverterEntry
	}{{"set voltage", &a.SetVoltage}, {"set current", a.SetCurrent}, {"read voltage", &a.ReadVoltage}, {"read current", &a.ReadCurrent}} {
		if !g.all(e.key) || e.chip == nil {
			continue
		}
		n := g.good[e.key]
		before, used := seen[e.chip.Device()]
		switch {
		case used && before.Chip != e.chip.Chip:
			r.say(n, "%s%s has the place of the %s at %s; two chips need two places", prefix(n), e.chip.Chip, before.Chip, e.chip.Device())
		case used && before.Channel == e.chip.Channel:
			r.say(n, "%sthe %s is used twice", prefix(n), e.chip.words())
		case used && before.Span != e.chip.Span && e.chip.Chip == "ads1115":
			r.say(n, "%sthe %s at %s has one range for all its channels: %v V or %v V", prefix(n), e.chip.Chip, e.chip.Device(), float64(before.Span), float64(e.chip.Span))
		}
		seen[e.chip.Device()] = *e.chip
	}
}

// words name a channel for a person.
func (c ConverterEntry) words() string {
	name := fmt.Sprintf("%s at %s", c.Chip, c.Device())
	if c.Channel != "" {
		name = fmt.Sprintf("channel %s of the %s", c.Channel, name)
	}
	return name
}

// scale reads what volts at the pin mean.
func (r *report) scale(n *node, symbol string, c *ConverterEntry) {
	r.fields(n, "a scale", []field{
		need("pin", "5 V", quantity(&c.Pin, 0.001, 100)),
		need("means", "120 "+symbol, number(&c.Means, symbol, 0.001, 1000)),
	})
}

// straight reads a calibration and draws its line.
func (r *report) straight(n *node, symbol string, c *ConverterEntry) {
	s := &Straight{}
	point := func(p *StraightPoint) reader {
		return func(r *report, n *node) {
			r.fields(n, "a point", []field{
				need("nominal", "12 "+symbol, number(&p.Nominal, symbol, -1000, 1000)),
				need("metered", "11.93 "+symbol, number(&p.Metered, symbol, -1000, 1000)),
			})
		}
	}
	g := r.fields(n, "a calibration of a scale", []field{
		need("date", "2026-03-02", day(&s.Date)),
		need("meter", "bench meter 3", text(&s.Meter, 100)),
		need("low", "{nominal: 12 V, metered: 11.93 V}", point(&s.Low)),
		need("middle", "{nominal: 60 V, metered: 59.97 V}", point(&s.Middle)),
		need("high", "{nominal: 108 V, metered: 108.02 V}", point(&s.High)),
	})
	c.Calibration = s
	if !g.all("date", "meter", "low", "middle", "high") || !(c.Means > 0) {
		return
	}
	if _, _, err := s.Line(c.Means); err != nil {
		r.say(n, "%s%v", prefix(n), err)
	}
}

// spanOf reads one of the ranges of a chip.
func spanOf(to *unit.Volts, spans ...unit.Volts) reader {
	return func(r *report, n *node) {
		var asked unit.Volts
		quantity(&asked, 0.001, 100)(r, n)
		for _, span := range spans {
			if math.Abs(float64(asked-span)) < 1e-6 {
				*to = span
				return
			}
		}
		if asked > 0 {
			r.say(n, "%s%v V is no range of this chip; its ranges: %s", prefix(n), float64(asked), fmt.Sprint(spans))
		}
	}
}
