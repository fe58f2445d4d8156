package mesh

import (
	"math"

	"anodized/hal/unit"
)

// Measured is what a mesh comes to.
type Measured struct {
	Area      unit.SquareCentimetres `json:"area_cm2"`   // a facet that is there twice counts once
	Volume    *float64               `json:"volume_cm3"` // nil where the surface is not closed
	Triangles int                    `json:"triangles"`  // with an area above zero
	Closed    bool                   `json:"closed"`     // every edge joins two triangles that go round it each way
	Inverted  bool                   `json:"inverted"`   // closed, and inside out: area and volume are those of the part
	Bounds    [3]unit.Millimetres    `json:"bounds_mm"`  // length of the box along x, y, z
	Flaws
	// Shortfall is by how much the facets are estimated to fall short of the curves that
	// they stand for; below zero where they exceed them.
	Shortfall unit.SquareCentimetres `json:"facet_shortfall_cm2"`
}

// Flaws are why a surface is not closed.
type Flaws struct {
	Duplicates int `json:"duplicate_facets"` // there already, facing the same way
	Turned     int `json:"inverted_facets"`  // facing the other way than those round them
	Open       int `json:"open_edges"`       // of one facet alone
	Crowded    int `json:"crowded_edges"`    // of more than two facets
}

const (
	mm2PerCM2 = 100
	mm3PerCM3 = 1000
)

// Measure measures a mesh whose lengths are in units of the given millimetres: 1
// for mm, 25.4 for inches. Corners that are one but for rounding are made one, where
// the surface is not closed without.
func (s *Surface) Measure(millimetres float64) Measured {
	found := s.examine()
	if !found.closed {
		if welded := s.welded(); welded != nil {
			s = welded
			found = s.examine()
		}
	}
	square := millimetres * millimetres / mm2PerCM2
	m := Measured{Flaws: found.Flaws, Shortfall: unit.SquareCentimetres(found.shortfall * square), Bounds: s.bounds(millimetres)}
	area, volume := 0.0, 0.0
	for _, f := range s.facets {
		t := s.triangle(f)
		if n := t.normal(); n != (Point{}) {
			area += length(n) / 2
			volume += dot(minus(t[0], s.corners[0]), n) / 6 // of the tetrahedron from a corner of the mesh
			m.Triangles++
		}
	}
	m.Area = unit.SquareCentimetres((area - found.twice) * square)
	if m.Closed = found.closed && volume != 0; m.Closed {
		m.Inverted = volume < 0
		cm3 := math.Abs(volume) * square * millimetres * mm2PerCM2 / mm3PerCM3
		m.Volume = &cm3
	}
	return m
}

func (s *Surface) bounds(millimetres float64) [3]unit.Millimetres {
	low, high := s.box()
	var size [3]unit.Millimetres
	for axis := range size {
		if low[axis] <= high[axis] {
			size[axis] = unit.Millimetres((high[axis] - low[axis]) * millimetres)
		}
	}
	return size
}

func (s *Surface) box() (low, high Point) {
	low = Point{math.Inf(1), math.Inf(1), math.Inf(1)}
	high = Point{math.Inf(-1), math.Inf(-1), math.Inf(-1)}
	for _, p := range s.corners {
		for axis, x := range p {
			low[axis], high[axis] = min(low[axis], x), max(high[axis], x)
		}
	}
	return low, high
}
