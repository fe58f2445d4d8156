package choose

import (
	"sort"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// Reachable is the difference up to which a wanted colour counts as given by a film.
const Reachable = 2.0

// The bounds of an answer.
const (
	mostCandidates = 5
	mostAlike      = 4
	alikeDE00      = 6.0              // a film that looks like another, at a glance
	apart          = unit.Volts(10.0) // of two films that only look alike
)

// Choice is the answer to a wanted colour.
type Choice struct {
	Wanted     colour.Lab
	Reachable  bool
	Candidates []Candidate // best first, never empty
	Flattest   *Candidate  // where the volts matter least near the wanted hue; nil: nothing near
	Misses     []Miss      // why it cannot be reached; empty where it can
}

// Candidate is a film that comes near, and what to know of it.
type Candidate struct {
	colour.Candidate
	Name      string
	PerVolt   float64 // CIEDE2000 from half a volt below to half a volt above
	Tolerance colour.Tolerance
	Alike     []colour.Candidate // of other volts: DE00 is to this film; best first
	Lamps     []Shift
	Tilts     []Shift
}

// Choose answers a wanted colour.
func (e *Eye) Choose(want colour.Lab) Choice {
	c := Choice{Wanted: want}
	for _, near := range e.chart.Best(want, mostCandidates) {
		c.Candidates = append(c.Candidates, e.about(near))
	}
	e.finish(&c)
	return c
}

// finish says what there is to say once the candidates are known.
func (e *Eye) finish(c *Choice) {
	c.Reachable = c.Candidates[0].DE00 <= Reachable
	if row, found := e.flattest(c.Wanted); found {
		flat := e.about(e.place(row, c.Wanted))
		c.Flattest = &flat
	}
	if !c.Reachable {
		c.Misses = e.misses(c.Wanted)
	}
}

func (e *Eye) about(near colour.Candidate) Candidate {
	return Candidate{
		Candidate: near, Name: near.Lab.LCh().Name(),
		PerVolt: e.surface.DE00PerVolt(e.scale, near.Volts), Tolerance: e.surface.Tolerance(e.scale, near.Volts),
		Alike: e.alike(near), Lamps: e.shifts(near.Thickness, e.lamps), Tilts: e.shifts(near.Thickness, e.tilts),
	}
}

// alike are the films of quite other volts that look like one.
func (e *Eye) alike(one colour.Candidate) []colour.Candidate {
	found := []colour.Candidate{}
	for _, other := range e.chart.Best(one.Lab, e.chart.Len()) {
		far := other.Volts > one.Volts+apart || other.Volts < one.Volts-apart
		if far && other.DE00 <= alikeDE00 && len(found) < mostAlike {
			found = append(found, other)
		}
	}
	return found
}

// place is a row of the chart as a candidate.
func (e *Eye) place(row int, want colour.Lab) colour.Candidate {
	d := e.scale.Thickness(e.chart.Volts(row))
	lab := e.surface.Lab(d)
	return colour.Candidate{Volts: e.chart.Volts(row), Thickness: d, Order: e.surface.Order(d),
		DE00: colour.Difference(want, lab), Lab: lab, Screen: e.surface.Screen(d)}
}

// ofName answers a name that the films of this chart bear: the middle of each stretch
// of volts that bears it, the most forgiving of these being what is wanted.
func (e *Eye) ofName(name string) (Choice, bool) {
	rows := e.stretches(name)
	if len(rows) == 0 {
		return Choice{}, false
	}
	c := Choice{Wanted: e.chart.Lab(rows[0])}
	for _, row := range rows {
		c.Candidates = append(c.Candidates, e.about(e.place(row, c.Wanted)))
	}
	sort.SliceStable(c.Candidates, func(i, j int) bool { return c.Candidates[i].DE00 < c.Candidates[j].DE00 })
	c.Candidates = c.Candidates[:min(mostCandidates, len(c.Candidates))]
	e.finish(&c)
	return c, true
}
