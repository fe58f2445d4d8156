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

// grid finds corners by where they are.
type grid struct {
	width   float64
	corners []Point
	numbers table   // of the newest corner of each cell
	cells   []cell  // by corner
	before  []int32 // the corner in the same cell before this one, and one
}

// welded is the surface with corners that are nearly one made one; nil where there are
// none.
func (s *Surface) welded() *Surface {
	low, high := s.box()
	distance := weldShare * length(minus(high, low))
	if !(distance > 0) || math.IsInf(distance, 0) {
		return nil
	}
	g := grid{width: cellWidth * distance}
	numbers := make([]int32, len(s.corners))
	for i, p := range s.corners {
		numbers[i] = g.number(p, distance)
	}
	if len(g.corners) == len(s.corners) {
		return nil
	}
	w := &Surface{corners: g.corners, facets: make([]facet, len(s.facets))}
	for i, f := range s.facets {
		w.facets[i] = facet{numbers[f[0]], numbers[f[1]], numbers[f[2]]}
	}
	return w
}

// number is the number of the first corner within the distance of p, or a new one.
func (g *grid) number(p Point, distance float64) int32 {
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
	return g.add(p)
}

// near is a corner of one cell within the distance of p, -1 where there is none.
func (g *grid) near(c cell, p Point, distance float64) int32 {
	if len(g.corners) == 0 {
		return -1
	}
	slot := g.numbers.find(c.hash(), func(n int32) bool { return g.cells[n] == c })
	for n := *slot - 1; n >= 0; n = g.before[n] - 1 {
		if d := minus(g.corners[n], p); dot(d, d) <= distance*distance {
			return n
		}
	}
	return -1
}

func (g *grid) add(p Point) int32 {
	if g.numbers.full(len(g.corners)) {
		g.rehash()
	}
	var c cell
	for axis, x := range p {
		c[axis] = int64(math.Floor(x / g.width))
	}
	slot := g.numbers.find(c.hash(), func(n int32) bool { return g.cells[n] == c })
	n := int32(len(g.corners))
	g.corners, g.cells, g.before = append(g.corners, p), append(g.cells, c), append(g.before, *slot)
	*slot = n + 1
	return n
}

// rehash makes room; the newest corner of each cell leads to the others.
func (g *grid) rehash() {
	g.numbers.slots = make([]int32, max(64, 2*len(g.numbers.slots)))
	for n, c := range g.cells {
		*g.numbers.find(c.hash(), func(m int32) bool { return g.cells[m] == c }) = int32(n) + 1
	}
}
