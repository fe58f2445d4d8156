package mesh

import "math"

// weldShare is how near two corners must be to be one, as a share of the box: some
// steps of the single precision in which binary files keep them.
const weldShare = 1e-6

// cellWidth is how wide a cell of the grid is, in welding distances.
const cellWidth = 4

// cell is where a corner lies on a grid.
type cell [3]int64

func (c cell) hash() uint64 { return mix(mix(uint64(c[0]), uint64(c[1])), uint64(c[2])) }

// grid finds corners of a surface by where they are. It holds numbers alone: the corners
// stand in the surface, and their cells are worked out anew.
type grid struct {
	width   float64
	corners []Point // of the surface
	kept    []int32 // of them, those that others are taken for
	numbers table   // of the newest kept corner of each cell
	before  []int32 // the kept corner in the same cell before this one, and one
}

// welded is the surface with corners that are nearly one made one; nil where there are
// none.
func (s *Surface) welded() *Surface {
	low, high := s.box()
	distance := weldShare * length(minus(high, low))
	if !(distance > 0) || math.IsInf(distance, 0) {
		return nil
	}
	n := len(s.corners)
	g := grid{width: cellWidth * distance, corners: s.corners, kept: make([]int32, 0, n), before: make([]int32, 0, n)}
	numbers := make([]int32, n)
	for i := range s.corners {
		numbers[i] = g.number(int32(i), distance)
	}
	if len(g.kept) == n {
		return nil
	}
	w := &Surface{corners: make([]Point, len(g.kept)), facets: make([]facet, len(s.facets))}
	for i, corner := range g.kept {
		w.corners[i] = s.corners[corner]
	}
	for i, f := range s.facets {
		w.facets[i] = facet{numbers[f[0]], numbers[f[1]], numbers[f[2]]}
	}
	return w
}

// number is the number of the first kept corner within the distance of this one, or a new
// one.
func (g *grid) number(corner int32, distance float64) int32 {
	p := g.corners[corner]
	var from, to cell
	for axis, x := range p {
		from[axis] = int64(math.Floor((x - distance) / g.width))
		to[axis] = int64(math.Floor((x + distance) / g.width))
	}
	for x := from[0]; x <= to[0]; x++ {
		for y := from[1]; y <= to[1]; y++ {
			for z := from[2]; z <= to[2]; z++ {
				if n := g.near(cell{x, y, z}, p, distance); n >= 0 {
					return n
				}
			}
		}
	}
	return g.add(corner)
}

// near is a kept corner of one cell within the distance of p, -1 where there is none.
func (g *grid) near(c cell, p Point, distance float64) int32 {
	if len(g.kept) == 0 {
		return -1
	}
	for n := *g.slot(c) - 1; n >= 0; n = g.before[n] - 1 {
		if d := minus(g.corners[g.kept[n]], p); dot(d, d) <= distance*distance {
			return n
		}
	}
	return -1
}

// cell is where a kept corner lies.
func (g *grid) cell(n int32) (c cell) {
	for axis, x := range g.corners[g.kept[n]] {
		c[axis] = int64(math.Floor(x / g.width))
	}
	return c
}

// slot is that of a cell's newest corner.
func (g *grid) slot(c cell) *int32 {
	return g.numbers.find(c.hash(), func(n int32) bool { return g.cell(n) == c })
}

func (g *grid) add(corner int32) int32 {
	if g.numbers.full(len(g.kept)) {
		g.rehash()
	}
	n := int32(len(g.kept))
	g.kept = append(g.kept, corner)
	slot := g.slot(g.cell(n))
	g.before = append(g.before, *slot)
	*slot = n + 1
	return n
}

// rehash makes room; the newest corner of each cell leads to the others.
func (g *grid) rehash() {
	g.numbers.slots = make([]int32, max(64, 2*len(g.numbers.slots)))
	for n := range int32(len(g.kept)) {
		*g.slot(g.cell(n)) = n + 1
	}
}
