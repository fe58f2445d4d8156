package mesh

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// model is what a 3MF model holds.
type model struct {
	seen    bool
	unit    string
	objects map[string]*object
	items   []use3MF // on the build plate
}

// object is a mesh, or an assembly of other objects.
type object struct {
	kind       string // model where it is not given
	corners    []Point
	facets     []facet
	components []use3MF
}

// use3MF is an object in a place.
type use3MF struct{ id, transform string }

// mostBuilt bounds triangles and uses of objects, so that a small file of
// components in components cannot grow without end.
const mostBuilt = mostFacets

// support tells whether an object is no part but what a printer would hold it with.
func (o *object) support() bool { return o.kind == "support" || o.kind == "solidsupport" }

// built returns the surface of the build plate.
func (m *model) built() (*Surface, error) {
	sizes, whole := map[string]int{}, 0
	for _, item := range m.items {
		size, err := m.size(item.id, sizes)
		if err != nil {
			return nil, err
		}
		if whole += size; whole > mostBuilt {
			return nil, fmt.Errorf("the 3MF file builds more than %d triangles: export the part alone, or coarser", mostBuilt)
		}
	}
	s := &Surface{}
	for _, item := range m.items {
		if err := m.place(s, item, still()); err != nil {
			return nil, err
		}
	}
	return s.some()
}

// size counts the triangles and the uses of an object. It keeps what it counted,
// and -1 for what it has not finished: an object within itself.
func (m *model) size(id string, sizes map[string]int) (int, error) {
	if size, counted := sizes[id]; counted {
		if size < 0 {
			return 0, fmt.Errorf("object %.20q of the 3MF file holds itself: export it again", id)
		}
		return size, nil
	}
	object := m.objects[id]
	if object == nil {
		return 0, fmt.Errorf("the 3MF file uses object %.20q, which it does not hold", id)
	}
	sizes[id] = -1
	whole := 1 + max(len(object.facets), len(object.corners)/3)
	for _, component := range object.components {
		size, err := m.size(component.id, sizes)
		if err != nil {
			return 0, err
		}
		whole = min(whole+size, mostBuilt+1)
	}
	sizes[id] = whole
	return whole, nil
}

// place adds an object where it is used, its components in it. Its size was counted
// before, so it is there and not without end.
func (m *model) place(s *Surface, u use3MF, within transform) error {
	own, err := parseTransform(u.transform)
	if err != nil {
		return err
	}
	object, at := m.objects[u.id], own.within(within)
	if object.support() {
		return nil
	}
	if err := at.add(s, object); err != nil {
		return err
	}
	for _, component := range object.components {
		if err := m.place(s, component, at); err != nil {
			return err
		}
	}
	return nil
}

// transform is the first three columns of a matrix by which row vectors are
// multiplied, row by row; the fourth row moves.
type transform [12]float64

func still() transform { return transform{1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0} }

func parseTransform(text string) (transform, error) {
	t := still()
	if text == "" {
		return t, nil
	}
	words := strings.Fields(text)
	if len(words) != len(t) {
		return t, fmt.Errorf("a transform of the 3MF file has %d numbers: it has 12", len(words))
	}
	for i, word := range words {
		x, err := strconv.ParseFloat(word, 64)
		if err != nil {
			return t, fmt.Errorf("a transform of the 3MF file: %.20q is not a number", word)
		}
		t[i] = x
	}
	return t, nil
}

func (t *transform) of(p Point) Point {
	return Point{
		plain(p[0]*t[0] + p[1]*t[3] + p[2]*t[6] + t[9]),
		plain(p[0]*t[1] + p[1]*t[4] + p[2]*t[7] + t[10]),
		plain(p[0]*t[2] + p[1]*t[5] + p[2]*t[8] + t[11]),
	}
}

// within is a transform followed by that of what holds it.
func (t *transform) within(outer transform) transform {
	inner := Point{}
	var all transform
	for row := range 4 {
		copy(inner[:], t[3*row:3*row+3])
		turned := outer
		if row < 3 { // a direction, which is not moved
			turned[9], turned[10], turned[11] = 0, 0, 0
		}
		moved := turned.of(inner)
		copy(all[3*row:], moved[:])
	}
	return all
}

// mirrors tells whether a transform turns a surface inside out.
func (t *transform) mirrors() bool {
	return dot(Point{t[0], t[1], t[2]}, cross(Point{t[3], t[4], t[5]}, Point{t[6], t[7], t[8]})) < 0
}

// add adds an object in its place. A mirrored facet is turned, so that its outside stays
// outside.
func (t *transform) add(s *Surface, o *object) error {
	before := int32(len(s.corners))
	s.corners, s.facets = slices.Grow(s.corners, len(o.corners)), slices.Grow(s.facets, len(o.facets))
	for _, p := range o.corners {
		moved := t.of(p)
		if !moved.finite() {
			return errors.New("the 3MF file has a corner that is not finite, or farther than 1e9: export it again")
		}
		s.corners = append(s.corners, moved)
	}
	mirrored := t.mirrors()
	for _, f := range o.facets {
		for i, n := range f {
			if n < 0 || int(n) >= len(o.corners) {
				return fmt.Errorf("a triangle of the 3MF file names vertex %d, and its object has %d", n, len(o.corners))
			}
			f[i] = before + n
		}
		if mirrored {
			f[1], f[2] = f[2], f[1]
		}
		s.facets = append(s.facets, f)
	}
	return nil
}
