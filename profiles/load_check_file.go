package profiles

import (
	"fmt"
	"strconv"
	"strings"

	"anodized/hal/unit"
)

const mostChecks = 100

// checks reads the dated checks against a resistor.
func (r *report) checks(n *node, to *[]LoadCheck) {
	each(mostChecks, "a list of checks", add(to, func(r *report, n *node, c *LoadCheck) { r.loadCheck(n, c) }))(r, n)
}

func (r *report) loadCheck(n *node, c *LoadCheck) {
	r.fields(n, "a check", []field{
		need("date", "2026-03-02", day(&c.Date)),
		may("simulated", truth(&c.Simulated)),
		need("resistor", "100 ohm", quantity(&c.Resistor, 0.01, 1e6)),
		need("tolerance", "1 %", number(&c.Tolerance, "%", 0, 50)),
		need("power", "50 W", number(&c.Power, "W", 0.01, 1e5)),
		need("meter", "bench meter 3", text(&c.Meter, 80)),
		need("points", "[{set: 10 V, volts: 10.01 V, amperes: 0.1 A}]", each(20, "a list of points", add(&c.Points, (*report).loadPoint))),
		may("volts", func(r *report, n *node) { c.Volts = &Line{}; r.line(n, c.Volts, unit.Symbol[unit.Volts]()) }),
		need("amperes", "{gain: 1, offset: 0 A}", func(r *report, n *node) { r.line(n, &c.Amperes, unit.Symbol[unit.Amperes]()) }),
		need("result", CheckGood, choice(&c.Result, CheckGood, CheckBad)),
	})
}

func (r *report) loadPoint(n *node, p *LoadPoint) {
	var metered unit.Volts
	g := r.fields(n, "a point", []field{
		need("set", "10 V", quantity(&p.Set, 0, 1000)),
		need("volts", "10.01 V", quantity(&p.Volts, -10, 1200)),
		need("amperes", "0.1 A", quantity(&p.Amperes, -10, 1200)),
		may("metered", quantity(&metered, -10, 1200)),
	})
	if g.all("metered") {
		p.Metered = &metered
	}
}

func (r *report) line(n *node, l *Line, symbol string) {
	r.fields(n, "a line", []field{
		need("gain", "1.002", number(&l.Gain, "", -1000, 1000)),
		need("offset", "0 "+symbol, number(&l.Offset, symbol, -1000, 1000)),
	})
}

// text is a check as it stands in the file: lines without indentation.
func (c LoadCheck) text() []string {
	lines := []string{"date: " + c.Date}
	if c.Simulated {
		lines = append(lines, "simulated: true")
	}
	lines = append(lines,
		"resistor: "+unit.Format(c.Resistor),
		"tolerance: "+digits(c.Tolerance)+" %",
		"power: "+digits(c.Power)+" W",
		"meter: "+inQuotes(c.Meter),
		"points:")
	for _, p := range c.Points {
		lines = append(lines, "  - "+p.text())
	}
	if c.Volts != nil {
		lines = append(lines, "volts: "+c.Volts.text("V"))
	}
	return append(lines, "amperes: "+c.Amperes.text("A"), "result: "+c.Result)
}

func (p LoadPoint) text() string {
	metered := ""
	if p.Metered != nil {
		metered = ", metered: " + unit.Format(*p.Metered)
	}
	return fmt.Sprintf("{set: %s, volts: %s, amperes: %s%s}", unit.Format(p.Set), unit.Format(p.Volts), unit.Format(p.Amperes), metered)
}

func (l Line) text(symbol string) string {
	return fmt.Sprintf("{gain: %s, offset: %s %s}", digits(l.Gain), digits(l.Offset), symbol)
}

func digits(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// inQuotes writes a text so that it reads back as it was.
func inQuotes(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
}
