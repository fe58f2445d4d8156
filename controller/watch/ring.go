package watch

import "math"

// sample is one accepted reading with what was worked out from it.
type sample struct {
	t, v, i float64 // s, V, A with the zero subtracted
	film    float64 // thickness by volts as the growth law reads it, nm
	ratio   float64 // contact ratio, A s/V; NaN where it cannot be told
	whole   float64 // the same with all of the series resistance
	q       float64 // C, charge so far
	guess   float64 // C, how much of it gaps may have wrong
	miss    float64 // V, of the balance
	below   bool    // the volts are below what was reached: the film that made them draws nothing
	dip     bool    // a contact was open for a moment, or half the limit was asked for: nothing is learned from it
}

// ringSize covers 12 s at ten readings a second.
const ringSize = 128

// ring keeps the last accepted readings. Index 0 is the newest.
type ring struct {
	s    [ringSize]sample
	next int
	n    int
}

func (r *ring) push(s sample) {
	r.s[r.next] = s
	r.next = (r.next + 1) % ringSize
	if r.n < ringSize {
		r.n++
	}
}

func (r *ring) at(k int) *sample {
	return &r.s[uint(r.next-1-k)%ringSize]
}

// line is a least-squares line y = mean + slope (t - at).
type line struct {
	at, mean, slope float64
}

func (l line) value(t float64) float64 { return l.mean + l.slope*(t-l.at) }

// sums collects what a line needs, about a first point so that nothing cancels.
type sums struct {
	t0, y0, n, t, y, tt, ty float64
}

func (s *sums) add(t, y float64) {
	if s.n == 0 {
		s.t0, s.y0 = t, y
	}
	t, y = t-s.t0, y-s.y0
	s.n++
	s.t += t
	s.y += y
	s.tt += t * t
	s.ty += t * y
}

func (s *sums) line() line {
	if s.n < 3 {
		return line{mean: math.NaN(), slope: math.NaN()}
	}
	mt, my := s.t/s.n, s.y/s.n
	stt, sty := s.tt-s.n*mt*mt, s.ty-s.n*mt*my
	return line{at: s.t0 + mt, mean: s.y0 + my, slope: sty / stt}
}
