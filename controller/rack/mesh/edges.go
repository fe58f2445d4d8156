package mesh

import (
	"math"
	"slices"
)

// use is one facet's use of an edge, kept with the lower of the edge's corners.
type use struct {
	other int32 // the higher corner
	side  int32 // three times the facet, and which of its sides
}

// edges are the uses of all edges, by their lower corner: those of corner n are
// uses[first[n]:first[n+1]].
type edges struct {
	first []int32
	uses  []use
}

// examined is what the edges of a surface tell.
type examined struct {
	Flaws
	closed    bool
	twice     float64 // area that is there twice, in the mesh's unit
	shortfall float64 // likewise
}

// edges sorts the sides of all facets into their edges. A facet two of whose corners are
// one has no edges to speak of; a flat one with three corners has.
func (s *Surface) edges() edges {
	e := edges{first: make([]int32, len(s.corners)+1)}
	s.eachSide(func(low, _, _ int32) { e.first[low]++ })
	sum := int32(0)
	for n, count := range e.first {
		e.first[n] = sum
		sum += count
	}
	e.uses = make([]use, sum)
	s.eachSide(func(low, high, side int32) {
		e.uses[e.first[low]] = use{high, side}
		e.first[low]++
	})
	copy(e.first[1:], e.first) // each first is the next one's now
	e.first[0] = 0
	return e
}

func (s *Surface) eachSide(do func(low, high, side int32)) {
	for i, f := range s.facets {
		if f[0] == f[1] || f[1] == f[2] || f[2] == f[0] {
			continue
		}
		for k := range f {
			from, to := f[k], f[(k+1)%3]
			do(min(from, to), max(from, to), int32(3*i+k))
		}
	}
}

// each calls for every edge with all its uses.
func (e *edges) each(do func(low int32, all []use)) {
	for low := range len(e.first) - 1 {
		of := e.uses[e.first[low]:e.first[low+1]]
		byOther(of)
		for len(of) > 0 {
			n := 1
			for n < len(of) && of[n].other == of[0].other {
				n++
			}
			do(int32(low), of[:n])
			of = of[n:]
		}
	}
}

// byOther sorts the few uses at one corner, and the many at the hub of a fan.
func byOther(of []use) {
	if len(of) > 24 {
		slices.SortFunc(of, func(a, b use) int {
			if a.other != b.other {
				return int(a.other) - int(b.other)
			}
			return int(a.side) - int(b.side)
		})
		return
	}
	for i := 1; i < len(of); i++ {
		for j := i; j > 0 && of[j].other < of[j-1].other; j-- {
			of[j], of[j-1] = of[j-1], of[j]
		}
	}
}

// examine looks at every edge once.
func (s *Surface) examine() examined {
	var found examined
	curves := newCurves(s)
	turned, whole := 0, 0
	e := s.edges()
	e.each(func(low int32, all []use) {
		forward := 0
		for _, u := range all {
			if s.facets[u.side/3][u.side%3] == low {
				forward++
			}
		}
		switch {
		case len(all) == 2 && forward == 1:
			whole++
			curves.see(low, all)
		case len(all) == 2:
			turned++
			found.doubled(s, low, all)
		case len(all) == 1:
			found.Open++
		default:
			found.Crowded++
			found.doubled(s, low, all)
		}
	})
	found.closed = whole > 0 && turned+found.Open+found.Crowded == 0
	if turned > 0 {
		found.Turned = s.turnedFacets(&e)
	}
	found.shortfall = curves.shortfall()
	return found
}

// doubled counts facets that are there already: three same corners in the same order. A
// facet is counted at one of its edges, the one that begins at its lowest corner.
func (found *examined) doubled(s *Surface, low int32, all []use) {
	for i, u := range all {
		f, k := s.facets[u.side/3], u.side%3
		third := f[(k+2)%3]
		if f[k] != low || third < low {
			continue
		}
		for _, before := range all[:i] {
			g, l := s.facets[before.side/3], before.side%3
			if g[l] == low && g[(l+2)%3] == third {
				found.Duplicates++
				t := s.triangle(f)
				found.twice += length(t.normal()) / 2
				break
			}
		}
	}
}

// turnedFacets counts, body by body, the facets that face the other way than most of
// those that they share an edge with.
func (s *Surface) turnedFacets(e *edges) int {
	beyond := make([]int32, 3*len(s.facets)) // the side across the edge, and one
	e.each(func(_ int32, all []use) {
		if len(all) == 2 {
			beyond[all[0].side], beyond[all[1].side] = all[1].side+1, all[0].side+1
		}
	})
	facing := make([]int8, len(s.facets)) // 0: not seen
	total := 0
	var open []int32
	for i := range s.facets {
		if facing[i] != 0 {
			continue
		}
		facing[i] = 1
		open = append(open[:0], int32(i))
		count := [2]int{}
		for len(open) > 0 {
			at := open[len(open)-1]
			open = open[:len(open)-1]
			count[(1+facing[at])/2]++
			for k := range int32(3) {
				next := beyond[3*at+k] - 1
				if next < 0 || facing[next/3] != 0 {
					continue
				}
				facing[next/3] = facing[at]
				if s.facets[next/3][next%3] == s.facets[at][k] { // both begin at the same corner
					facing[next/3] = -facing[at]
				}
				open = append(open, next/3)
			}
		}
		total += min(count[0], count[1])
	}
	return total
}

// cosine of the angle between two normals.
func cosine(a, b Point) float64 {
	return dot(a, b) / math.Sqrt(dot(a, a)*dot(b, b))
}
