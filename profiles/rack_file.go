package profiles

import (
	"path/filepath"
	"strings"

	"anodized/hal/unit"
)

const (
	mostParts = 500   // entries of a rack
	mostCount = 10000 // like parts in one entry
)

// ReadRack reads a rack. The error is [Mistakes], all of them. The path of a mesh is
// found from the folder of the file; the mesh itself is not opened.
func ReadRack(file string, data []byte) (Rack, error) {
	r := &report{file: file}
	var k Rack
	if n := r.parse(data); n != nil {
		r.rack(n, &k)
	}
	return k, r.err()
}

func rackFields(k *Rack) []field {
	return []field{
		need("name", "eight headset spacers", text(&k.Name, 100)),
		need("parts", "[{name: spacer, count: 8, area: 24.98 cm2}]", each(mostParts, "a list of parts", add(&k.Parts, (*report).part))),
		may("fixture", each(mostParts, "a list of wires and areas", add(&k.Fixture, (*report).fixture))),
		may("formed to", quantity(&k.FormedTo, 0, mostTarget)),
		may("coloured", each(mostParts, "a list of areas with their volts", add(&k.Coloured, (*report).coloured))),
		may("note", text(&k.Note, 2000)),
	}
}

func (r *report) rack(n *node, k *Rack) {
	r.fields(n, "a rack", rackFields(k))
}

func (r *report) part(n *node, p *Part) {
	p.Wetted, p.Roughness = 1, 1
	s := &p.Shape
	g := r.fields(n, "a part", append([]field{
		need("name", "headset spacer", text(&p.Name, 100)),
		need("count", "8", whole(&p.Count, 1, mostCount)),
		may("ring", made(&s.Ring, (*report).ring)),
		may("tube", made(&s.Tube, (*report).tube)),
		may("plate", made(&s.Plate, (*report).plate)),
		may("cylinder", made(&s.Cylinder, (*report).cylinder)),
		may("disc", made(&s.Disc, (*report).disc)),
		may("prism", made(&s.Prism, (*report).prism)),
		may("area", quantity(&s.Area, 0.001, 100000)),
		may("mesh", meshPath(r, &s.Mesh)),
		may(meshUnitKey, choice(&s.MeshUnit, MeshUnits...)),
		may("mass", made(&s.Mass, (*report).mass)),
		may("wetted fraction", fraction(&p.Wetted)),
		may("roughness factor", number(&p.Roughness, "", 1, 5)),
		may("heat number", text(&p.HeatNumber, 100)),
		may("finish", text(&p.Finish, 100)),
	}, maskFields(r, p)...))
	r.masksOfPart(g, p)
	r.unitOfMesh(g, s.Mesh)
	r.exactlyOne(n, g, "a part", "ring", "tube", "plate", "cylinder", "disc", "prism", "area", "mesh", "mass")
}

// made reads a map into a new value of its shape.
func made[T any](to **T, read func(r *report, n *node, shape *T)) reader {
	return func(r *report, n *node) {
		*to = new(T)
		read(r, n, *to)
	}
}

func (r *report) fixture(n *node, f *Fixture) {
	g := r.fields(n, "a fixture", []field{
		may("name", text(&f.Name, 100)),
		may("wire", made(&f.Wire, (*report).wire)),
		may("area", quantity(&f.Area, 0.001, 100000)),
	})
	r.exactlyOne(n, g, "a fixture", "wire", "area")
}

func (r *report) wire(n *node, w *Wire) {
	r.fields(n, "a wire", []field{
		need("diameter", "1.6 mm", quantity(&w.Diameter, 0.05, 50)),
		need("wetted length", "60 mm", quantity(&w.WettedLength, 0.1, 5000)),
		need("count", "8", whole(&w.Count, 1, mostCount)),
	})
}

// fraction reads a share above 0, to 1.
func fraction(to *float64) reader { return number(to, "", 0.001, 1) }

func meshPath(r *report, to *string) reader {
	var path string
	read := text(&path, 500)
	return func(_ *report, n *node) {
		read(r, n)
		*to = beside(r.file, path)
	}
}

// MeshUnits are those that an STL file's lengths may be in: the format has none.
var MeshUnits = []string{"mm", "in"}

const meshUnitKey = "mesh unit"

// unitOfMesh refuses a unit without a mesh, or beside one that says its own.
func (r *report) unitOfMesh(g given, path string) {
	switch unit := g.seen[meshUnitKey]; {
	case unit == nil:
	case !g.has("mesh"):
		r.say(unit, "%s: there is no mesh whose unit it could be", meshUnitKey)
	case strings.EqualFold(filepath.Ext(path), ".3mf"):
		r.say(unit, "%s: a 3MF file says its own unit; leave it out", meshUnitKey)
	}
}

// beside finds a path that a file names from the folder of that file.
func beside(file, path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(filepath.Dir(file), path)
}

const (
	leastLength = unit.Millimetres(0.01)
	mostLength  = unit.Millimetres(5000)
)
