package mesh

import (
	"bufio"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
)

// modelReader reads the elements of a 3MF model that carry the surface, as they come.
type modelReader struct {
	model  model
	object *object // the one under way
	held   int     // facets so far
}

// readModel reads a model part. A whole tree of a million triangles would take gigabytes.
func readModel(r *bufio.Reader) (model, error) {
	in := modelReader{model: model{objects: map[string]*object{}}}
	past := quick{in: r}
	decoder := xml.NewDecoder(r) // reads byte by byte, so that it never is ahead
	depth := 0
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) && in.model.seen {
			return in.model, nil
		}
		if err != nil {
			return model{}, fmt.Errorf("read the model of the 3MF file: %w", past.atLine(err))
		}
		switch element := token.(type) {
		case xml.StartElement:
			depth++
			if err = in.begin(element, depth); err == nil && (element.Name.Local == "vertices" || element.Name.Local == "triangles") {
				err = past.elements(&in)
			}
		case xml.EndElement:
			depth--
			if element.Name.Local == "object" {
				in.object = nil
			} else {
				err = past.elements(&in)
			}
		}
		if err != nil {
			return model{}, err
		}
	}
}

func (in *modelReader) begin(e xml.StartElement, depth int) error {
	if depth == 1 {
		if e.Name.Local != "model" {
			return fmt.Errorf("read the model of the 3MF file: it begins with %.20q, not with model", e.Name.Local)
		}
		in.model.seen, in.model.unit = true, attribute(e, "unit")
		return nil
	}
	switch e.Name.Local {
	case "object":
		return in.beginObject(e)
	case "item":
		in.model.items = append(in.model.items, useOf(e))
		return in.bounded(len(in.model.items))
	}
	if in.object == nil {
		return nil
	}
	switch e.Name.Local {
	case "component":
		in.object.components = append(in.object.components, useOf(e))
		return in.bounded(len(in.object.components))
	case "vertex":
		return in.vertex(e)
	case "triangle":
		return in.triangle(e)
	}
	return nil
}

// mostObjects and mostUses bound what a model may hold.
const (
	mostObjects = 10000
	mostUses    = 1000000
)

func (in *modelReader) bounded(uses int) error {
	if uses > mostUses {
		return fmt.Errorf("the 3MF file uses more than %d objects: export the part alone", mostUses)
	}
	return nil
}

func (in *modelReader) beginObject(e xml.StartElement) error {
	if len(in.model.objects) == mostObjects {
		return fmt.Errorf("the 3MF file holds more than %d objects: export the part alone", mostObjects)
	}
	id := attribute(e, "id")
	if in.model.objects[id] != nil {
		return fmt.Errorf("the 3MF file holds object %.20q twice: export it again", id)
	}
	in.object = &object{kind: attribute(e, "type")}
	in.model.objects[id] = in.object
	return nil
}

func (in *modelReader) vertex(e xml.StartElement) error {
	var p Point
	for axis, name := range []string{"x", "y", "z"} {
		text := attribute(e, name)
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return fmt.Errorf("a vertex of the 3MF file: its %s, %.20q, is not a number", name, text)
		}
		p[axis] = plain(x)
	}
	return in.addCorner(p)
}

func (in *modelReader) addCorner(p Point) error {
	if len(in.object.corners) == 3*mostFacets {
		return fmt.Errorf("an object of the 3MF file has more than %d vertices: export it coarser", 3*mostFacets)
	}
	in.object.corners = append(roomier(in.object.corners), p)
	return nil
}

func (in *modelReader) triangle(e xml.StartElement) error {
	var f facet
	for i, name := range []string{"v1", "v2", "v3"} {
		text := attribute(e, name)
		n, err := strconv.ParseInt(text, 10, 32)
		if err != nil {
			return fmt.Errorf("a triangle of the 3MF file: its %s, %.20q, is no number of a vertex", name, text)
		}
		f[i] = int32(n)
	}
	return in.addFacet(f)
}

func (in *modelReader) addFacet(f facet) error {
	if in.held++; in.held > mostFacets {
		return fmt.Errorf("the 3MF file holds more than %d triangles: export it coarser", mostFacets)
	}
	in.object.facets = append(roomier(in.object.facets), f)
	return nil
}

func useOf(e xml.StartElement) use3MF {
	return use3MF{attribute(e, "objectid"), attribute(e, "transform")}
}

// attribute is an attribute of the core specification: it has no prefix.
func attribute(e xml.StartElement, name string) string {
	for i := range e.Attr {
		if e.Attr[i].Name.Local == name && e.Attr[i].Name.Space == "" {
			return e.Attr[i].Value
		}
	}
	return ""
}
