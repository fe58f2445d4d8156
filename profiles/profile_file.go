package profiles

import (
	"fmt"
	"regexp"
	"strings"

	"anodized/hal/unit"
)

// The ranges of a profile: wide enough for each valve metal of the starters, narrow
// enough to catch a slipped point.
const (
	leastTarget, mostTarget       = unit.Volts(1), unit.Volts(200)
	mostCeiling                   = unit.Volts(210)
	leastThickness, mostThickness = unit.Nanometres(1), unit.Nanometres(500)
	leastRamp, mostRamp           = unit.VoltsPerSecond(0.01), unit.VoltsPerSecond(50)
	leastDensity, mostDensity     = unit.CurrentDensity(0.05), unit.CurrentDensity(50)
	leastEnd                      = unit.CurrentDensity(0.001)
	longest                       = unit.Seconds(7200)
)

// What an end by current density takes where the profile does not say: common
// practice, no source.
const (
	defaultSustained = unit.Seconds(5)
)

// ReadProfile reads a profile. The error is [Mistakes], all of them. A metal or a
// bath given as a path is found from the folder of the file.
func ReadProfile(file string, data []byte) (Profile, error) {
	r := &report{file: file}
	var p Profile
	if n := r.parse(data); n != nil {
		r.profile(n, &p)
	}
	return p, r.err()
}

func profileFields(r *report, p *Profile) []field {
	return append([]field{
		need("name", "second-order purple", text(&p.Name, 100)),
		need("metal", DefaultMetal, named(r, &p.Metal, "metal", MetalIDs)),
		need("bath", "bicarbonate", named(r, &p.Bath, "bath", BathIDs)),
		may("target", quantity(&p.Target.Volts, leastTarget, mostTarget)),
		may("colour", colour(&p.Target.Hex)),
		may("Lab", lab(&p.Target.Lab)),
		may("thickness", quantity(&p.Target.Thickness, leastThickness, mostThickness)),
		need("ramp", "1 V/s", quantity(&p.Ramp, leastRamp, mostRamp)),
		need("current density", "5 mA/cm2", quantity(&p.CurrentDensity, leastDensity, mostDensity)),
		may("ceiling", quantity(&p.Ceiling, leastTarget, mostCeiling)),
		need("end", "{current density: 0.15 mA/cm2}", func(r *report, n *node) { r.end(n, &p.End) }),
		may("note", text(&p.Note, 2000)),
		may("watch", func(r *report, n *node) { r.watch(n, &p.Watch) }),
	}, stageFields(r, p)...)
}

func (r *report) profile(n *node, p *Profile) {
	g := r.fields(n, "a profile", profileFields(r, p))
	r.exactlyOne(n, g, "a profile", "target", "colour", "Lab", "thickness", "stages", "sweep")
	r.inOrder(g, p)
	if g.all("target", "ceiling") && p.Ceiling <= p.Target.Volts {
		r.say(g.seen["ceiling"], "ceiling: %s must be above the target of %s", p.Ceiling, p.Target.Volts)
	}
	if g.all("current density", "end") && p.End.CurrentDensity >= p.CurrentDensity {
		r.say(g.seen["end"], "end: its current density of %s must be below the limit of %s", p.End.CurrentDensity, p.CurrentDensity)
	}
}

// end reads the end criterion: a density that must have been sustained, or a time.
func (r *report) end(n *node, e *End) {
	what := "the end of a profile"
	g := r.fields(n, what, []field{
		may("current density", quantity(&e.CurrentDensity, leastEnd, mostDensity)),
		may("sustained", quantity(&e.Sustained, 0, 600)),
		may("least hold", quantity(&e.LeastHold, 0, longest)),
		may("longest hold", quantity(&e.LongestHold, 1, longest)),
		may("time", quantity(&e.Time, 1, longest)),
	})
	if !r.exactlyOne(n, g, what, "current density", "time") {
		return
	}
	if g.has("time") {
		r.timedEnd(g)
		return
	}
	r.densityEnd(g, e)
}

func (r *report) timedEnd(g given) {
	for _, key := range []string{"sustained", "least hold", "longest hold"} {
		if g.has(key) {
			r.say(g.seen[key], "%s: not used beside a time; a timed hold ends by time alone", key)
		}
	}
}

func (r *report) densityEnd(g given, e *End) {
	if !g.has("sustained") {
		e.Sustained = defaultSustained
	}
	if bad := g.has("least hold") && !g.all("least hold"); bad {
		return
	}
	if !g.has("longest hold") {
		return // the plan works one out from the hold that it expects
	}
	if e.LeastHold > e.LongestHold {
		r.say(g.seen["least hold"], "least hold: %s must not be above the longest hold of %s", e.LeastHold, e.LongestHold)
	}
	if e.Sustained > e.LongestHold {
		r.say(lastOf(g, "sustained", "longest hold"), "sustained: %s must not be above the longest hold of %s", e.Sustained, e.LongestHold)
	}
}

var hexColour = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)

func colour(to *string) reader {
	return valued(func(s string) error {
		if !hexColour.MatchString(s) {
			return fmt.Errorf("%q is not a colour; six hexadecimal digits after # are needed, in quotes, such as \"#d560af\"", brief(s))
		}
		*to = strings.ToLower(s)
		return nil
	})
}

// lab reads [L, a, b] of CIELAB.
func lab(to **[3]float64) reader {
	return func(r *report, n *node) {
		if !r.is(n, list, "[L, a, b]") {
			return
		}
		if len(n.items) != 3 {
			r.say(n, "Lab: %d numbers; three are needed, such as [58, 55, -21]", len(n.items))
			return
		}
		var values [3]float64
		number(&values[0], "", 0, 100)(r, n.items[0])
		number(&values[1], "", -150, 150)(r, n.items[1])
		number(&values[2], "", -150, 150)(r, n.items[2])
		*to = &values
	}
}
