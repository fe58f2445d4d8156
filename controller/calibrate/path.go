package calibrate

import (
	"math"

	"anodized/controller/colour"
	"anodized/hal/unit"
)

// path is the colours of a surface along the thickness: a table by the nanometre with
// cubics between, since a fit asks for thousands of colours. It is within 0.005 of
// CIELAB of the surface.
type path struct {
	labs, slopes []vector
}

// vector is a colour or a difference of colours in CIELAB.
type vector [3]float64

func vectorOf(c colour.Lab) vector { return vector{c.L, c.A, c.B} }

func (v vector) lab() colour.Lab { return colour.Lab{L: v[0], A: v[1], B: v[2]} }

func (v vector) minus(w vector) vector { return vector{v[0] - w[0], v[1] - w[1], v[2] - w[2]} }

func (v vector) times(w vector) float64 { return v[0]*w[0] + v[1]*w[1] + v[2]*w[2] }

func (v vector) length() float64 { return math.Sqrt(v.times(v)) }

func (v vector) along(w vector, by float64) vector {
	return vector{v[0] + by*w[0], v[1] + by*w[1], v[2] + by*w[2]}
}

// newPath follows a surface from no film to most, in nm. Slopes are by the five rows
// around each; at the ends the formula of the reflectance simply goes on.
func newPath(s *colour.Surface, most float64) *path {
	const around = 2
	rows := int(math.Ceil(most)) + 1
	all := make([]vector, rows+2*around)
	for i := range all {
		all[i] = vectorOf(s.Lab(unit.Nanometres(i - around)))
	}
	p := &path{labs: all[around : around+rows], slopes: make([]vector, rows)}
	for d := range p.slopes {
		near, far := all[d+3].minus(all[d+1]), all[d+4].minus(all[d])
		p.slopes[d] = scaled(scaled(near, 8).minus(far), 1./12)
	}
	return p
}

// at is the colour of a film of d and how it moves with a nanometre. There is no film
// below 0, and none beyond the end of the path: there the colour stands still.
func (p *path) at(d float64) (lab, slope vector) {
	last := len(p.labs) - 1
	if !(d > 0) {
		return p.labs[0], vector{}
	}
	if d >= float64(last) {
		return p.labs[last], vector{}
	}
	i := int(d)
	t := d - float64(i)
	for k := range lab {
		y0, y1, m0, m1 := p.labs[i][k], p.labs[i+1][k], p.slopes[i][k], p.slopes[i+1][k]
		c2 := 3*(y1-y0) - 2*m0 - m1
		c3 := 2*(y0-y1) + m0 + m1
		lab[k] = y0 + t*(m0+t*(c2+t*c3))
		slope[k] = m0 + t*(2*c2+3*t*c3)
	}
	return lab, slope
}

// lab is the colour alone.
func (p *path) lab(d float64) vector {
	lab, _ := p.at(d)
	return lab
}
