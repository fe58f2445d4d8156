package match

import (
	"anodized/controller/colour"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Goal is the colour to reach.
type Goal struct {
	Lab         colour.Lab
	Light, Dark *colour.Lab // limit samples; nil where there is none
	Tolerance   float64     // CIEDE2000, where no limit sample says more
	Volts       unit.Volts  // that made it, which tell its order; 0: the nearest
}

// UsualTolerance is the difference up to which a piece is taken where nobody said
// another: that of a pair at which common practice warns, no source.
const UsualTolerance = PairWarn

// GoalOf is the goal of a master.
func GoalOf(m profiles.Master) Goal {
	g := Goal{Lab: labOf(m.Lab), Tolerance: m.Tolerance, Volts: m.Volts}
	if g.Tolerance == 0 {
		g.Tolerance = UsualTolerance
	}
	if m.Light != nil {
		light := labOf(*m.Light)
		g.Light = &light
	}
	if m.Dark != nil {
		dark := labOf(*m.Dark)
		g.Dark = &dark
	}
	return g
}

func labOf(v [3]float64) colour.Lab { return colour.Lab{L: v[0], A: v[1], B: v[2]} }

// Allowed is how far a piece may differ: as far as the limit sample on its side does,
// else the tolerance. Its side is that of the limit sample it is nearer to.
func (g Goal) Allowed(piece colour.Lab) float64 {
	side := g.Light
	switch {
	case g.Light == nil:
		side = g.Dark
	case g.Dark != nil && colour.Difference(piece, *g.Dark) < colour.Difference(piece, *g.Light):
		side = g.Dark
	}
	if side == nil || !g.towards(piece, *side) {
		return g.Tolerance
	}
	return colour.Difference(g.Lab, *side)
}

// towards tells whether a piece lies on a limit sample's side of the master.
func (g Goal) towards(piece, limit colour.Lab) bool {
	along := (piece.L-g.Lab.L)*(limit.L-g.Lab.L) + (piece.A-g.Lab.A)*(limit.A-g.Lab.A) + (piece.B-g.Lab.B)*(limit.B-g.Lab.B)
	return along > 0
}

// film is the film of the goal, near that of a piece: of its order where its volts are
// known, else the one whose colour fits best within a step's reach, and where none
// does, within what one run may add.
func (b Basis) film(g Goal, f Film, v unit.Volts, s slope) colour.Dip {
	near := f.Thickness
	if g.Volts > 0 {
		near += unit.Nanometres(s.nmPerVolt * float64(g.Volts-v))
		return b.Surface.Dips(g.Lab, near-colour.Around, near+colour.Around)[0]
	}
	dip := b.Surface.Dips(g.Lab, near-colour.Around, near+colour.Around)[0]
	if dip.DE00 <= mostResidual {
		return dip
	}
	if further := b.Surface.Dips(g.Lab, near, near+widest)[0]; further.DE00 < dip.DE00 {
		return further
	}
	return dip
}

// slack is how many nanometres past a film still look like it, to half of what is
// allowed.
func (b Basis) slack(at unit.Nanometres, allowed float64) unit.Nanometres {
	const grain, fine, most = 0.05, 0.001, 20
	here := b.Surface.Lab(at)
	past := func(d unit.Nanometres) bool { return colour.Difference(here, b.Surface.Lab(at+d)) > allowed/2 }
	low, high := unit.Nanometres(0), unit.Nanometres(grain)
	for ; !past(high); low, high = high, high+grain {
		if high >= most {
			return most
		}
	}
	for high-low > fine { // where the colour turns fast, a grain is all of it
		if middle := (low + high) / 2; past(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return low
}
