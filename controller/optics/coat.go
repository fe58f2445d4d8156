package optics

import (
	"math"
	"math/cmplx"

	"anodized/hal/unit"
)

// Coat is a film on a metal at one wavelength and angle, with all worked out but
// the thickness, so that a reflectance costs one sine and cosine and one division.
//
// It is the Airy sum r = (r01 + r12 z)/(1 + r01 r12 z) with z = ρ exp(-i φ), both of
// whose squares are a constant, a part in ρ² and a part in ρ cos φ and ρ sin φ.
type Coat struct {
	turn, loss float64 // of φ and of -ln ρ, by nm of film
	s, p       bounce
	tilted     bool // s and p differ
}

// bounce is one polarisation of a coat: numerator and denominator.
type bounce struct {
	top, topSquare, topCos, topSin   float64
	bottomSquare, bottomCos, bottomS float64
}

// NewCoat works out a film on a metal, in an ambient of real index, for light of a
// wavelength and an angle of incidence in radians.
func NewCoat(ambient, film, metal complex128, wavelength unit.Nanometres, angle float64) Coat {
	s0 := real(ambient) * math.Sin(angle)
	air, inside, below := normal(ambient, s0), normal(film, s0), normal(metal, s0)
	around := func(p Polarisation) bounce {
		y0, y1, y2 := p.admittance(ambient, air), p.admittance(film, inside), p.admittance(metal, below)
		return newBounce((y0-y1)/(y0+y1), (y1-y2)/(y1+y2))
	}
	wave := 4 * math.Pi / float64(wavelength)
	c := Coat{turn: wave * real(inside), loss: -wave * imag(inside), s: around(S)}
	if s0 != 0 {
		c.p, c.tilted = around(P), true
	}
	return c
}

func newBounce(r01, r12 complex128) bounce {
	cross, round := cmplx.Conj(r01)*r12, r01*r12
	return bounce{
		top: power(r01), topSquare: power(r12), topCos: 2 * real(cross), topSin: 2 * imag(cross),
		bottomSquare: power(round), bottomCos: 2 * real(round), bottomS: 2 * imag(round),
	}
}

// Reflectance returns the share of unpolarised light that comes back from a film of
// d.
func (c *Coat) Reflectance(d unit.Nanometres) float64 {
	sin, cos, square := c.wave(float64(d))
	r := c.s.reflectance(sin, cos, square)
	if c.tilted {
		r = (r + c.p.reflectance(sin, cos, square)) / 2
	}
	return r
}

// Polarised returns the reflectance for each polarisation.
func (c *Coat) Polarised(d unit.Nanometres) (s, p float64) {
	sin, cos, square := c.wave(float64(d))
	s = c.s.reflectance(sin, cos, square)
	if !c.tilted {
		return s, s
	}
	return s, c.p.reflectance(sin, cos, square)
}

// wave returns ρ sin φ, ρ cos φ and ρ².
func (c *Coat) wave(d float64) (sin, cos, square float64) {
	sin, cos = math.Sincos(c.turn * d)
	if c.loss == 0 {
		return sin, cos, 1
	}
	left := math.Exp(-c.loss * d)
	return left * sin, left * cos, left * left
}

func (b *bounce) reflectance(sin, cos, square float64) float64 {
	return (b.top + b.topSquare*square + b.topCos*cos + b.topSin*sin) /
		(1 + b.bottomSquare*square + b.bottomCos*cos + b.bottomS*sin)
}

// Order returns the interference order of a film of d for this light: 1 up to the
// first thickness at which the reflections of film and metal are in step, then one
// more for each half wave in the film.
func (c *Coat) Order(d unit.Nanometres) int {
	inStep := math.Atan2(c.s.topSin, c.s.topCos)
	if inStep <= 0 {
		inStep += 2 * math.Pi
	}
	return int(math.Floor((c.turn*float64(d)-inStep)/(2*math.Pi))) + 2
}
