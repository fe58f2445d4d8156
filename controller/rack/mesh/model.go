package mesh

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// The elements of a 3MF model that carry the surface.
type xmlModel struct {
	Unit    string      `xml:"unit,attr"`
	Objects []xmlObject `xml:"resources>object"`
	Items   []xmlUse    `xml:"build>item"`
}

type xmlObject struct {
	ID         string        `xml:"id,attr"`
	Vertices   []xmlVertex   `xml:"mesh>vertices>vertex"`
	Triangles  []xmlTriangle `xml:"mesh>triangles>triangle"`
	Components []xmlUse      `xml:"components>component"`
}

type xmlUse struct {
	ObjectID  string `xml:"objectid,attr"`
	Transform string `xml:"transform,attr"`
}

type xmlVertex struct {
	X float64 `xml:"x,attr"`
	Y float64 `xml:"y,attr"`
	Z float64 `xml:"z,attr"`
}

type xmlTriangle struct {
	V1 int `xml:"v1,attr"`
	V2 int `xml:"v2,attr"`
	V3 int `xml:"v3,attr"`
}

// mostBuilt bounds triangles and uses of objects, so that a small file of
// components in components cannot grow without end.
const (
	mostBuilt   = 3000000
	mostObjects = 10000
)

// built returns the triangles of the build plate.
func (m *xmlModel) built() ([]Triangle, error) {
	if len(m.Objects) > mostObjects {
		return nil, fmt.Errorf("the 3MF file holds %d objects, at most %d are read: export the part alone", len(m.Objects), mostObjects)
	}
	sizes, whole := map[string]int{}, 0
	for _, item := range m.Items {
		size, err := m.size(item.ObjectID, sizes)
		if err != nil {
			return nil, err
		}
		if whole += size; whole > mostBuilt {
			return nil, fmt.Errorf("the 3MF file builds more than %d triangles: export the part alone, or coarser", mostBuilt)
		}
	}
	var all []Triangle
	for _, item := range m.Items {
		triangles, err := m.use(item)
		if err != nil {
			return nil, err
		}
		all = append(all, triangles...)
	}
	return all, nil
}

// size counts the triangles and the uses of an object. It keeps what it counted,
// and -1 for what it has not finished: an object within itself.
func (m *xmlModel) size(id string, sizes map[string]int) (int, error) {
	if size, counted := sizes[id]; counted {
		if size < 0 {
			return 0, fmt.Errorf("object %.20q of the 3MF file holds itself: export it again", id)
		}
		return size, nil
	}
	object := m.object(id)
	if object == nil {
		return 0, fmt.Errorf("the 3MF file uses object %.20q, which it does not hold", id)
	}
	sizes[id] = -1
	whole := 1 + len(object.Triangles)
	for _, component := range object.Components {
		size, err := m.size(component.ObjectID, sizes)
		if err != nil {
			return 0, err
		}
		whole = min(whole+size, mostBuilt+1)
	}
	sizes[id] = whole
	return whole, nil
}

// use returns an object where it is used, its components in it. Its size was
// counted before, so it is there and not without end.
func (m *xmlModel) use(u xmlUse) ([]Triangle, error) {
	place, err := parseTransform(u.Transform)
	if err != nil {
		return nil, err
	}
	object := m.object(u.ObjectID)
	triangles, err := object.surface()
	if err != nil {
		return nil, err
	}
	for _, component := range object.Components {
		more, err := m.use(component)
		if err != nil {
			return nil, err
		}
		triangles = append(triangles, more...)
	}
	return place.move(triangles)
}

func (m *xmlModel) object(id string) *xmlObject {
	for i := range m.Objects {
		if m.Objects[i].ID == id {
			return &m.Objects[i]
		}
	}
	return nil
}

func (o *xmlObject) surface() ([]Triangle, error) {
	triangles := make([]Triangle, 0, len(o.Triangles))
	for _, t := range o.Triangles {
		var triangle Triangle
		for i, v := range [3]int{t.V1, t.V2, t.V3} {
			if v < 0 || v >= len(o.Vertices) {
				return nil, fmt.Errorf("a triangle of the 3MF file names vertex %d, and its object has %d", v, len(o.Vertices))
			}
			triangle[i] = Point{o.Vertices[v].X, o.Vertices[v].Y, o.Vertices[v].Z}
		}
		triangles = append(triangles, triangle)
	}
	return triangles, nil
}

// transform is the first three columns of a matrix by which row vectors are
// multiplied, row by row; the fourth row moves.
type transform [12]float64

func parseTransform(text string) (transform, error) {
	t := transform{1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0}
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

// move returns the triangles in their place. A mirrored one is turned, so that its
// outside stays outside.
func (t transform) move(triangles []Triangle) ([]Triangle, error) {
	mirrored := dot(Point{t[0], t[1], t[2]}, cross(Point{t[3], t[4], t[5]}, Point{t[6], t[7], t[8]})) < 0
	for i := range triangles {
		for j, p := range triangles[i] {
			for axis := range 3 {
				triangles[i][j][axis] = plain(p[0]*t[axis] + p[1]*t[3+axis] + p[2]*t[6+axis] + t[9+axis])
			}
		}
		if !triangles[i].finite() {
			return nil, errors.New("the 3MF file has a corner that is not finite, or farther than 1e9: export it again")
		}
		if mirrored {
			triangles[i][1], triangles[i][2] = triangles[i][2], triangles[i][1]
		}
	}
	return triangles, nil
}
