package optics

import "anodized/hal/unit"

// Sweep follows coats through films of even steps. From film to film the phase of
// each coat is turned by one complex product, in place of a sine and a cosine, and
// every 64 films it is worked out afresh: what it differs from [Coat.Reflectance]
// stays below 1e-12.
type Sweep struct {
	strands    []strand
	from, step float64 // nm
	row        int     // of the film that comes next
}

// afresh is the number of films between two phases that are worked out afresh.
const afresh = 64

// strand is a coat with its wave at the film that comes next.
type strand struct {
	cos, sin         float64 // ρ cos φ, ρ sin φ
	turnCos, turnSin float64 // by a step
	coat             Coat
}

// NewSweep begins at a film of from, at or above 0, and goes on by step, which may
// be negative as long as no film is asked for that is below 0.
func NewSweep(coats []Coat, from, step unit.Nanometres) *Sweep {
	s := &Sweep{strands: make([]strand, len(coats)), from: float64(from), step: float64(step)}
	for i := range coats {
		t := &s.strands[i]
		t.coat = coats[i]
		t.turnSin, t.turnCos, _ = t.coat.wave(s.step)
	}
	return s
}

// Next writes the reflectance of each coat, for unpolarised light, with the film
// that comes next, and steps on. There must be room for as many as there are coats.
func (s *Sweep) Next(r []float64) {
	if s.row%afresh == 0 {
		s.anchor()
	}
	s.row++
	r = r[:len(s.strands)]
	for i := range s.strands {
		t := &s.strands[i]
		cos, sin := t.cos, t.sin
		t.cos, t.sin = cos*t.turnCos-sin*t.turnSin, cos*t.turnSin+sin*t.turnCos
		square := cos*cos + sin*sin
		r[i] = t.coat.s.reflectance(sin, cos, square)
		if t.coat.tilted {
			r[i] = (r[i] + t.coat.p.reflectance(sin, cos, square)) / 2
		}
	}
}

func (s *Sweep) anchor() {
	d := s.from + s.step*float64(s.row)
	for i := range s.strands {
		t := &s.strands[i]
		t.sin, t.cos, _ = t.coat.wave(d)
	}
}
