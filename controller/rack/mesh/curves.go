package mesh

import "math"

// smoothest is the angle between two facets below which they are taken for parts of one
// curve: above a coarse export of a round (12 facets: 30 degrees), below a chamfer of 45
// degrees. Our choice.
const smoothest = 40 * math.Pi / 180

var leastSmooth = math.Cos(smoothest)

// curves estimates by how much facets fall short of the curves that they stand for, to
// the second order of the angles between them:
//
//   - each facet by its area times the angle squared over 24 for each of its smooth
//     edges: half the mean squared slope between a curve and its chord;
//   - where such an edge bulges itself, the strip that opens over it: the angle times the
//     sagitta, whose mean is length squared times curvature over 12;
//   - at a sharp edge whose own curve bulges within the plane of a face, the segment
//     between curve and chord, length cubed times that curvature over 12. At a bore the
//     face has that too much.
//
// A facet's curvature is the sum over its edges of half the angle times the length, across
// the edge, over its area. The sums are exact to that order for cylinders, cones and
// spheres.
type curves struct {
	surface *Surface
	angles  [][3]float32 // at each side of each facet; 0 where it is flat or sharp, below 0 in a hollow
	sharp   []crease
}

// crease is an edge where two faces meet at an angle.
type crease struct {
	a, b   int32   // sides, three times the facet and which
	cos    float32 // of the angle between the normals
	hollow bool
}

func newCurves(s *Surface) *curves {
	return &curves{surface: s, angles: make([][3]float32, len(s.facets))}
}

// see takes an edge that joins two facets, each going round it its own way.
func (c *curves) see(low int32, both []use) {
	s := c.surface
	a, b := both[0].side, both[1].side
	one, other := s.triangle(s.facets[a/3]), s.triangle(s.facets[b/3])
	m, n := one.normal(), other.normal()
	cos := cosine(m, n)
	if !(cos <= 1-1e-9) { // flat, or a facet without an area
		return
	}
	apex := s.corners[s.facets[b/3][(b%3+2)%3]]
	hollow := dot(m, minus(apex, s.corners[low])) > 0 // the other facet rises
	if cos <= leastSmooth {
		c.sharp = append(c.sharp, crease{a, b, float32(cos), hollow})
		return
	}
	angle := float32(math.Acos(cos))
	if hollow {
		angle = -angle
	}
	c.angles[a/3][a%3], c.angles[b/3][b%3] = angle, angle
}

// bent is how a facet's surface turns.
type bent struct {
	area float64
	turn [3]float64 // by what angle along each side
	long [3]float64 // each side
}

// bent works a facet out. Across a side i of length l the curvature is angle times l over
// twice the area; a side k goes across it by twice the area over l. More than the largest
// smooth angle is the turn of a sliver.
func (c *curves) bent(f int32) bent {
	t, angles := c.surface.triangle(c.surface.facets[f]), c.angles[f]
	var b bent
	var share [3]float64
	all := 0.0
	for k := range t {
		b.long[k] = length(minus(t[(k+1)%3], t[k]))
		share[k] = float64(angles[k]) / b.long[k]
		all += share[k]
	}
	normal := t.normal()
	twice := length(normal)
	b.area = twice / 2
	for k := range t {
		turn := twice / b.long[k] * (all - share[k])
		b.turn[k] = max(-smoothest, min(smoothest, turn))
	}
	return b
}

// shortfall is the sum, in the mesh's unit.
func (c *curves) shortfall() float64 {
	total := 0.0
	for f, angles := range c.angles {
		if angles == ([3]float32{}) {
			continue
		}
		b := c.bent(int32(f))
		for k, a := range angles {
			angle := float64(a)
			total += (b.area*angle + b.turn[k]*b.long[k]*b.long[k]) * angle / 24 // of the strip half: the other facet has the other
		}
	}
	for i := range c.sharp {
		total += c.bulge(&c.sharp[i])
	}
	return total
}

// bulge is what both faces miss at a crease. The edge's own curve turns by what each face
// turns along its normal, so within face A by (turn of B - cos turn of A) / sin of the
// angle between both.
func (c *curves) bulge(e *crease) float64 {
	one, other := c.bent(e.a/3), c.bent(e.b/3)
	a, b, long := one.turn[e.a%3], other.turn[e.b%3], one.long[e.a%3]
	cos := float64(e.cos)
	sin := math.Sqrt(1 - cos*cos)
	if a == 0 && b == 0 || sin < 0.1 { // folded upon itself: no two faces
		return 0
	}
	if e.hollow {
		sin = -sin
	}
	return long * long / 12 * (b - cos*a + a - cos*b) / sin
}
