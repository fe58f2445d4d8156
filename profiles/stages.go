package profiles

import "anodized/hal/unit"

// Stage is one colour of a job of several. Each is a run of its own: a person takes a mask
// off, or lets the part further into the bath, with the output off and the lid open.
type Stage struct {
	Name        string   `json:"name"`
	Target      Target   `json:"target"`
	MaskRemoved []string `json:"mask_removed,omitempty"` // before this stage
	Exposes     float64  `json:"exposes,omitempty"`      // share of the exposed surface that comes into the bath with this stage
}

// Sweep is a row of stages with even steps of the volts, each over its own strip: a
// gradient, or a colour strip.
type Sweep struct {
	From   unit.Volts       `json:"from_volts"`
	To     unit.Volts       `json:"to_volts"`
	Steps  int              `json:"steps"`               // stages, 2 to 50
	Stroke unit.Millimetres `json:"stroke_mm,omitempty"` // of the part, along the bath's depth
}

// Rising is the order of stages whose volts rise: what was coloured grows on, unless it
// was masked or drawn out. A profile must ask for it.
const Rising = "rising"

// leastBand is the narrowest strip of a sweep: what a person can set by a ruler.
const leastBand = unit.Millimetres(0.5)

const (
	mostStages = 50
	mostRemove = 50
)

func stageFields(r *report, p *Profile) []field {
	return []field{
		may("stages", each(mostStages, "a list of stages", add(&p.Stages, (*report).stage))),
		may("sweep", made(&p.Sweep, (*report).sweep)),
		may("order", choice(&p.Order, Rising)),
	}
}

func (r *report) stage(n *node, s *Stage) {
	what := "a stage"
	g := r.fields(n, what, []field{
		need("name", "blue band", text(&s.Name, 100)),
		may("target", quantity(&s.Target.Volts, leastTarget, mostTarget)),
		may("colour", colour(&s.Target.Hex)),
		may("Lab", lab(&s.Target.Lab)),
		may("thickness", quantity(&s.Target.Thickness, leastThickness, mostThickness)),
		may("mask removed", names(&s.MaskRemoved)),
		may("exposes", maskShare(&s.Exposes)),
	})
	r.exactlyOne(n, g, what, "target", "colour", "Lab", "thickness")
	if g.has("mask removed") && g.has("exposes") {
		r.say(g.seen["exposes"], "exposes: beside a mask that is taken off; exactly one of these is needed: mask removed, exposes")
	}
}

// names reads a name, or a list of them.
func names(to *[]string) reader {
	one := func(r *report, n *node) {
		var name string
		text(&name, 100)(r, n)
		*to = append(*to, name)
	}
	return func(r *report, n *node) {
		if n.kind == list {
			each(mostRemove, "a list of masks", one)(r, n)
			return
		}
		one(r, n)
	}
}

func (r *report) sweep(n *node, s *Sweep) {
	g := r.fields(n, "a sweep", []field{
		need("from", "90 V", quantity(&s.From, leastTarget, mostTarget)),
		need("to", "20 V", quantity(&s.To, leastTarget, mostTarget)),
		need("steps", "8", whole(&s.Steps, 2, mostStages)),
		may("stroke", quantity(&s.Stroke, 1, 2000)),
	})
	if g.all("from", "to") && s.From == s.To {
		r.say(g.seen["to"], "to: %s is where the sweep begins; a single colour needs no sweep", s.To)
	}
	if g.all("steps", "stroke") && s.Stroke/unit.Millimetres(s.Steps) < leastBand {
		r.say(g.seen["steps"], "steps: %d on a stroke of %s are strips of less than %s, which nobody sets by hand", s.Steps, s.Stroke, leastBand)
	}
}

// inOrder refuses stages that would undo each other, where their volts are given.
func (r *report) inOrder(g given, p *Profile) {
	switch {
	case g.has("ceiling") && (g.has("stages") || g.has("sweep")):
		r.say(g.seen["ceiling"], "ceiling: each stage has its own, just above its volts; leave it out")
	case g.has("order") && !g.has("stages") && !g.has("sweep"):
		r.say(g.seen["order"], "order: it is that of stages or of a sweep, and there is neither")
	case g.all("sweep") && p.Sweep.To > p.Sweep.From && p.Order != Rising:
		r.say(g.seen["sweep"].value("to"), "to: the sweep rises: %s", whyFalling)
	case g.all("stages"):
		r.stagesInOrder(g.seen["stages"], p)
	}
}

// whyFalling is why the highest volts come first.
const whyFalling = "what was coloured before grows on to the higher volts and loses its colour; begin with the highest, or write \"order: rising\" where it is masked or drawn out before"

func (r *report) stagesInOrder(n *node, p *Profile) {
	for i := 1; i < len(p.Stages); i++ {
		s, before := p.Stages[i], p.Stages[i-1]
		known := s.Target.Volts > 0 && before.Target.Volts > 0
		switch {
		case known && s.Target.Volts >= before.Target.Volts && p.Order != Rising:
			r.say(n.items[i], "stage %q: its %s are not below the %s of the stage before: %s", s.Name, s.Target.Volts, before.Target.Volts, whyFalling)
		case p.Order != Rising && len(s.MaskRemoved) == 0 && s.Exposes == 0:
			r.say(n.items[i], "stage %q: nothing bare comes into the bath with it, and lower volts do nothing to what is coloured: say which mask is removed, or what share it exposes", s.Name)
		}
	}
	share := 0.0
	for _, s := range p.Stages {
		share += s.Exposes
	}
	if share >= 1 {
		r.say(n, "stages: together they expose %.4g %% of the surface, which leaves nothing for the first", 100*share)
	}
}
