package profiles

import "anodized/hal/unit"

// Mask is what keeps the bath from some of each part: lacquer, tape, a plug. Exactly one
// of Share, Area, Surfaces and Mesh says how much; a mesh that was measured has its area
// beside it.
type Mask struct {
	Name     string                 `json:"name"`
	Share    float64                `json:"share,omitempty"` // of the part's surface, above 0 and below 1
	Area     unit.SquareCentimetres `json:"area_cm2,omitempty"`
	Surfaces []string               `json:"surfaces,omitempty"`  // whole surfaces of the shape, such as bore
	Mesh     string                 `json:"mesh,omitempty"`      // path of an STL or 3MF file of the masked surface alone
	MeshUnit string                 `json:"mesh_unit,omitempty"` // as of a part's mesh
}

// Coloured is what of a rack was coloured in an earlier stage and still hangs in the bath:
// it draws nothing below its volts, and counts for no limit.
type Coloured struct {
	Area     unit.SquareCentimetres `json:"area_cm2"`
	FormedTo unit.Volts             `json:"formed_to_volts"`
}

// surfaceNames are the surfaces that shapes have.
var surfaceNames = []string{"outside", "bore", "ends", "chamfers", "holes", "faces", "edges", "sides"}

// mostMasks is how many masks a part may have.
const mostMasks = 50

// unnamedMask is what a mask is called that is given as a share or an area alone.
const unnamedMask = "mask"

func maskFields(r *report, p *Part) []field {
	return []field{
		may("masked", plainMask(p, func(m *Mask) reader { return maskShare(&m.Share) })),
		may("masked area", plainMask(p, func(m *Mask) reader { return quantity(&m.Area, 0.001, 100000) })),
		may("masks", each(mostMasks, "a list of masks", add(&p.Masks, (*report).mask))),
	}
}

// plainMask reads a mask that is never taken off, and has no name.
func plainMask(p *Part, read func(m *Mask) reader) reader {
	return func(r *report, n *node) {
		mask := Mask{Name: unnamedMask}
		read(&mask)(r, n)
		p.Masks = append(p.Masks, mask)
	}
}

// maskShare reads a share in per cent.
func maskShare(to *float64) reader {
	return func(r *report, n *node) {
		var percent float64
		number(&percent, "%", 0.1, 99.9)(r, n)
		*to = percent / 100
	}
}

func (r *report) mask(n *node, m *Mask) {
	what := "a mask"
	g := r.fields(n, what, []field{
		need("name", "band", text(&m.Name, 100)),
		may("share", maskShare(&m.Share)),
		may("area", quantity(&m.Area, 0.001, 100000)),
		may("surfaces", each(len(surfaceNames), "a list of surfaces", func(r *report, n *node) {
			var name string
			choice(&name, surfaceNames...)(r, n)
			m.Surfaces = append(m.Surfaces, name)
		})),
		may("mesh", meshPath(r, &m.Mesh)),
		may(meshUnitKey, choice(&m.MeshUnit, MeshUnits...)),
	})
	r.unitOfMesh(g, m.Mesh)
	r.exactlyOne(n, g, what, "share", "area", "surfaces", "mesh")
}

// masksOfPart refuses two masks of one name, and a surface under two masks.
func (r *report) masksOfPart(g given, p *Part) {
	names, surfaces := map[string]bool{}, map[string]string{}
	n := lastOfAny(g, "masked", "masked area", "masks")
	if n == nil {
		return
	}
	for _, m := range p.Masks {
		if names[m.Name] {
			r.say(n, "masks: two masks are called %q; each needs a name of its own", m.Name)
		}
		names[m.Name] = true
		for _, surface := range m.Surfaces {
			if by, twice := surfaces[surface]; twice {
				r.say(n, "masks: the surface %q is under %q already", surface, by)
			}
			surfaces[surface] = m.Name
		}
	}
}

// lastOfAny is the last of these that was given, nil where none was.
func lastOfAny(g given, keys ...string) *node {
	if present := g.present(keys); len(present) > 0 {
		return last(g, present)
	}
	return nil
}

func (r *report) coloured(n *node, c *Coloured) {
	r.fields(n, "what is coloured already", []field{
		need("area", "20 cm2", quantity(&c.Area, 0.001, 100000)),
		need("formed to", "85 V", quantity(&c.FormedTo, leastTarget, mostTarget)),
	})
}
