package mesh

import (
	"errors"
	"math"
	"math/bits"
)

// Point is a corner in the mesh's own unit.
type Point [3]float64

// Triangle is three corners, counter-clockwise seen from outside.
type Triangle [3]Point

// Surface is a triangle mesh: its corners, each once, and the facets between them.
type Surface struct {
	corners []Point
	facets  []facet
}

// facet is three corners by their numbers.
type facet [3]int32

// mostFacets bounds what is held in memory.
const mostFacets = 5000000

// Of makes a surface of triangles. Corners with the same coordinates are one.
func Of(triangles []Triangle) *Surface {
	g := newGatherer(len(triangles))
	for i := range triangles {
		g.add(&triangles[i])
	}
	return g.surface
}

// Facets is the number of triangles, those without an area too.
func (s *Surface) Facets() int { return len(s.facets) }

// some refuses a mesh without anything.
func (s *Surface) some() (*Surface, error) {
	if len(s.facets) == 0 {
		return nil, errors.New("the mesh holds no triangle: export the part as STL")
	}
	return s, nil
}

func (s *Surface) triangle(f facet) Triangle {
	return Triangle{s.corners[f[0]], s.corners[f[1]], s.corners[f[2]]}
}

// gatherer makes a surface of triangles as they come.
type gatherer struct {
	surface *Surface
	numbers table
	last    facet // the newest, where there is one
}

func newGatherer(facets int) *gatherer {
	return &gatherer{surface: &Surface{facets: make([]facet, 0, facets), corners: make([]Point, 0, facets/2+2)}}
}

func (g *gatherer) add(t *Triangle) {
	s := g.surface
	var f facet
	for k, p := range t {
		f[k] = g.numberNear(p)
	}
	s.facets = append(roomier(s.facets), f)
	g.last = f
}

// numberNear is the number of a corner that is most likely one of the facet before:
// programs write facets beside each other one after the other.
func (g *gatherer) numberNear(p Point) int32 {
	if s := g.surface; len(s.facets) > 0 {
		for _, n := range g.last {
			if s.corners[n] == p {
				return n
			}
		}
	}
	return g.number(p)
}

// number is the number of a corner, a new one where there is none like it.
func (g *gatherer) number(p Point) int32 {
	s := g.surface
	if g.numbers.full(len(s.corners)) {
		g.numbers.grow(len(s.corners), func(n int32) uint64 { return s.corners[n].hash() })
	}
	slot := g.numbers.find(p.hash(), func(n int32) bool { return s.corners[n] == p })
	if *slot == 0 {
		s.corners = append(roomier(s.corners), p)
		*slot = int32(len(s.corners))
	}
	return *slot - 1
}

// roomier has room for one more. It doubles: less to copy than what append does.
func roomier[T any](list []T) []T {
	if len(list) == cap(list) {
		return append(make([]T, 0, 2*len(list)+16), list...)
	}
	return list
}

func (p Point) hash() uint64 {
	return mix(mix(math.Float64bits(p[0]), math.Float64bits(p[1])), math.Float64bits(p[2]))
}

func mix(a, b uint64) uint64 {
	high, low := bits.Mul64(a^0x9e3779b97f4a7c15, b^0xc2b2ae3d27d4eb4f)
	return high ^ low
}

// table finds numbers by what they stand for: open addressing, at most half full. A slot
// holds a number and one, 0 where it is free.
type table struct{ slots []int32 }

func (t *table) full(held int) bool { return 2*held >= len(t.slots) }

// grow makes room for twice as many.
func (t *table) grow(held int, hash func(int32) uint64) {
	t.slots = make([]int32, max(64, 2*len(t.slots)))
	for n := range int32(held) {
		*t.find(hash(n), func(int32) bool { return false }) = n + 1
	}
}

// find is the slot of what equals, or the free one where it belongs.
func (t *table) find(hash uint64, equals func(int32) bool) *int32 {
	last := uint64(len(t.slots) - 1)
	for i := hash & last; ; i = (i + 1) & last {
		if n := t.slots[i]; n == 0 || equals(n-1) {
			return &t.slots[i]
		}
	}
}

// plain makes one zero of the two, so that equal corners compare equal.
func plain(x float64) float64 { return x + 0 }

// farthest is beyond any part in any unit; what is farther is a broken file.
const farthest = 1e9

func (p Point) finite() bool {
	for _, x := range p {
		if !(math.Abs(x) <= farthest) { // NaN too
			return false
		}
	}
	return true
}

func minus(a, b Point) Point { return Point{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }

func dot(a, b Point) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func cross(a, b Point) Point {
	return Point{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// normal is twice the area of a triangle, along its outside.
func (t *Triangle) normal() Point { return cross(minus(t[1], t[0]), minus(t[2], t[0])) }

func length(p Point) float64 { return math.Sqrt(dot(p, p)) }
