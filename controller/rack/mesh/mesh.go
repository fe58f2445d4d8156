package mesh

import (
	"math"

	"anodized/hal/unit"
)

// Point is a vertex in the mesh's own unit.
type Point [3]float64

// Triangle is three vertices, counter-clockwise seen from outside.
type Triangle [3]Point

// Measured is what a mesh comes to.
type Measured struct {
	Area      unit.SquareCentimetres `json:"area_cm2"`
	Volume    *float64               `json:"volume_cm3"` // nil where the surface is not closed
	Triangles int                    `json:"triangles"`  // with an area above zero
	Closed    bool                   `json:"closed"`     // every edge joins two triangles that go round it each way
	Inverted  bool                   `json:"inverted"`   // closed, and inside out: area and volume are those of the part
	Bounds    [3]unit.Millimetres    `json:"bounds_mm"`  // length of the box along x, y, z
}

const (
	mm2PerCM2 = 100
	mm3PerCM3 = 1000
)

// Measure measures a mesh whose lengths are in units of the given millimetres: 1
// for mm, 25.4 for inches.
func Measure(triangles []Triangle, millimetres float64) Measured {
	var m Measured
	area, volume := 0.0, 0.0
	for i := range triangles {
		t := &triangles[i]
		if a := t.area(); a > 0 {
			area += a
			volume += t.volume()
			m.Triangles++
		}
	}
	scale := millimetres
	m.Area = unit.SquareCentimetres(area * scale * scale / mm2PerCM2)
	m.Bounds = bounds(triangles, millimetres)
	if m.Closed = volume != 0 && closed(triangles); m.Closed {
		m.Inverted = volume < 0
		cm3 := math.Abs(volume) * scale * scale * scale / mm3PerCM3
		m.Volume = &cm3
	}
	return m
}

func (t *Triangle) area() float64 {
	n := cross(minus(t[1], t[0]), minus(t[2], t[0]))
	return math.Sqrt(dot(n, n)) / 2
}

// volume is that of the tetrahedron from the origin, negative where the triangle
// looks away from it.
func (t *Triangle) volume() float64 { return dot(t[0], cross(t[1], t[2])) / 6 }

func bounds(triangles []Triangle, millimetres float64) [3]unit.Millimetres {
	var size [3]unit.Millimetres
	for axis := range size {
		low, high := math.Inf(1), math.Inf(-1)
		for i := range triangles {
			for _, p := range triangles[i] {
				low, high = min(low, p[axis]), max(high, p[axis])
			}
		}
		if low <= high {
			size[axis] = unit.Millimetres((high - low) * millimetres)
		}
	}
	return size
}

type edge struct{ from, to int }

// closed tells whether every edge is walked once each way. A triangle two of whose
// corners are one has no edges to speak of; a flat one with three corners has.
func closed(triangles []Triangle) bool {
	weld := newWelder(triangles)
	walked := make(map[edge]int, 3*len(triangles))
	for i := range triangles {
		a, b, c := weld.number(triangles[i][0]), weld.number(triangles[i][1]), weld.number(triangles[i][2])
		if a == b || b == c || c == a {
			continue
		}
		walked[edge{a, b}]++
		walked[edge{b, c}]++
		walked[edge{c, a}]++
	}
	for e, times := range walked {
		if times != 1 || walked[edge{e.to, e.from}] != 1 {
			return false
		}
	}
	return len(walked) > 0
}

func minus(a, b Point) Point { return Point{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }

func dot(a, b Point) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func cross(a, b Point) Point {
	return Point{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}
