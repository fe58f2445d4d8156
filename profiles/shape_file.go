package profiles

import "anodized/hal/unit"

// size is the field of one dimension of a part.
func size(key, example string, to *unit.Millimetres) field {
	return need(key, example, quantity(to, leastLength, mostLength))
}

func (r *report) ring(n *node, s *Ring) {
	r.hollow(n, s, "a ring", []field{size("height", "10 mm", &s.Height)})
}

// tube is a ring whose height may be called its length.
func (r *report) tube(n *node, s *Ring) {
	what := "a tube"
	g := r.hollow(n, s, what, []field{
		may("length", quantity(&s.Height, leastLength, mostLength)),
		may("height", quantity(&s.Height, leastLength, mostLength)),
	})
	r.exactlyOne(n, g, what, "length", "height")
}

func (r *report) hollow(n *node, s *Ring, what string, along []field) given {
	g := r.fields(n, what, append([]field{
		size("outside", "34 mm", &s.Outside),
		size("bore", "28.6 mm", &s.Bore),
		may("chamfer", quantity(&s.Chamfer, 0, mostLength)),
		may("holes", r.holes(&s.Holes, false)),
	}, along...))
	if g.all("outside", "bore") && s.Bore >= s.Outside {
		r.say(g.seen["bore"], "bore: %s must be below the outside of %s", s.Bore, s.Outside)
		return g
	}
	r.ringDetails(g, s)
	return g
}

func (r *report) ringDetails(g given, s *Ring) {
	if !g.all("outside", "bore") || s.Height == 0 {
		return
	}
	wall := (s.Outside - s.Bore) / 2
	if g.all("chamfer") && (s.Chamfer > wall || 2*s.Chamfer > s.Height) {
		r.say(g.seen["chamfer"], "chamfer: %s is larger than the wall of %s or half the height of %s", s.Chamfer, wall, s.Height)
	}
	r.fit(g, s.Holes, min(s.Height, s.Outside), "the ring's height or outside")
}

func (r *report) plate(n *node, s *Plate) {
	g := r.fields(n, "a plate", []field{
		size("length", "100 mm", &s.Length),
		size("width", "25 mm", &s.Width),
		size("thickness", "1 mm", &s.Thickness),
		may("holes", r.holes(&s.Holes, false)),
	})
	if g.all("length", "width") {
		r.fit(g, s.Holes, min(s.Length, s.Width), "the plate's shorter side")
	}
}

func (r *report) cylinder(n *node, s *Cylinder) { r.round(n, s, "a cylinder", "height", "20 mm") }
func (r *report) disc(n *node, s *Cylinder)     { r.round(n, s, "a disc", "thickness", "2 mm") }

func (r *report) round(n *node, s *Cylinder, what, along, example string) {
	g := r.fields(n, what, []field{
		size("diameter", "12 mm", &s.Diameter),
		size(along, example, &s.Height),
		may("holes", r.holes(&s.Holes, false)),
	})
	if g.all("diameter") {
		r.fit(g, s.Holes, s.Diameter, "the part's diameter")
	}
}

func (r *report) prism(n *node, s *Prism) {
	g := r.fields(n, "a prism", []field{
		need("face area", "5.7 cm2", quantity(&s.FaceAreaCM2, 0.0001, 100000)),
		size("perimeter", "282 mm", &s.Perimeter),
		size("length", "14 mm", &s.Length),
		may("holes", r.holes(&s.Holes, true)),
	})
	if g.all("length") {
		r.fit(g, s.Holes, s.Length, "the prism's length")
	}
}

func (r *report) mass(n *node, s *Mass) {
	r.fields(n, "a mass", []field{
		need("each", "11.8 g", quantity(&s.Each, 0.001, 100000)),
		size("thickness", "2.7 mm", &s.Thickness),
		may("height", quantity(&s.Height, leastLength, mostLength)),
		may("density", number(&s.Density, "g/cm3", 0.5, 25)),
	})
}

// holes reads like holes. Deep ones must say how deep, because their shape cannot.
func (r *report) holes(to *[]Hole, deep bool) reader {
	return each(mostParts, "a list of holes", add(to, func(r *report, n *node, h *Hole) {
		depth := may("depth", quantity(&h.Depth, leastLength, mostLength))
		if deep {
			depth = size("depth", "8 mm", &h.Depth)
		}
		r.fields(n, "a hole", []field{
			size("diameter", "4 mm", &h.Diameter),
			depth,
			need("count", "4", whole(&h.Count, 1, mostCount)),
		})
	}))
}

// fit refuses a hole that is no smaller than what it goes through.
func (r *report) fit(g given, holes []Hole, room unit.Millimetres, what string) {
	if !g.all("holes") {
		return
	}
	for i, hole := range holes {
		if hole.Diameter >= room {
			r.say(g.seen["holes"].items[i], "holes: a hole of %s is not smaller than %s, %s", hole.Diameter, what, room)
		}
	}
}
