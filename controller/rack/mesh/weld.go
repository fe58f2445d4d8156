package mesh

import "math"

// weldShare is how near two corners must be to be one, as a share of the box: some
// steps of the single precision in which binary files keep them.
const weldShare = 1e-6

// cell is where a corner lies on a grid of the welding distance.
type cell [3]int64

// welder gives corners that are one the same number.
type welder struct {
	distance float64
	exact    map[Point]int
	grid     map[cell]int
	corners  []Point
}

func newWelder(triangles []Triangle) *welder {
	box := bounds(triangles, 1)
	distance := weldShare * math.Hypot(math.Hypot(float64(box[0]), float64(box[1])), float64(box[2]))
	return &welder{distance: distance, exact: map[Point]int{}, grid: map[cell]int{}}
}

// number returns the number of the corner that p is, or is within the distance of.
func (w *welder) number(p Point) int {
	if n, known := w.exact[p]; known {
		return n
	}
	n, near := w.nearby(p)
	if !near {
		n = len(w.corners)
		w.corners = append(w.corners, p)
		w.grid[w.cellOf(p)] = n
	}
	w.exact[p] = n
	return n
}

func (w *welder) cellOf(p Point) cell {
	var c cell
	for axis := range c {
		if w.distance > 0 {
			c[axis] = int64(math.Floor(p[axis] / w.distance))
		}
	}
	return c
}

func (w *welder) nearby(p Point) (int, bool) {
	home := w.cellOf(p)
	for around := range 27 {
		c := cell{home[0] + int64(around%3) - 1, home[1] + int64(around/3%3) - 1, home[2] + int64(around/9) - 1}
		if n, taken := w.grid[c]; taken {
			if d := minus(w.corners[n], p); dot(d, d) <= w.distance*w.distance {
				return n, true
			}
		}
	}
	return 0, false
}
