package optics

import (
	"math"
	"math/cmplx"

	"anodized/hal/unit"
)

// Layer is one layer of a stack.
type Layer struct {
	Index     complex128
	Thickness unit.Nanometres
}

// Stack is any number of layers on a substrate that light does not come back from.
type Stack struct {
	Ambient   complex128 // real: light comes through it
	Layers    []Layer    // from the ambient down
	Substrate complex128
}

// Result is what a stack does with light.
type Result struct {
	Amplitude complex128 // of the reflected wave over the incoming one
	R, T      float64    // shares of the power reflected, and passed into the substrate
}

// Reflect returns what the stack does with light of a wavelength, angle of
// incidence in radians and polarisation.
//
// With δ the phase of a layer and y its admittance, [B C] is the product of
// [[cos δ, i sin δ/y], [i y sin δ, cos δ]] over the layers, times [1, y_substrate].
func (s Stack) Reflect(wavelength unit.Nanometres, angle float64, p Polarisation) Result {
	s0 := real(s.Ambient) * math.Sin(angle)
	last := p.admittance(s.Substrate, normal(s.Substrate, s0))
	b, c := complex128(1), last
	for i := len(s.Layers) - 1; i >= 0; i-- {
		layer := s.Layers[i]
		q := normal(layer.Index, s0)
		y := p.admittance(layer.Index, q)
		delta := complex(2*math.Pi*float64(layer.Thickness)/float64(wavelength), 0) * q
		sin, cos := cmplx.Sin(delta), cmplx.Cos(delta)
		b, c = cos*b+1i*sin/y*c, 1i*y*sin*b+cos*c
	}
	first := p.admittance(s.Ambient, normal(s.Ambient, s0))
	sum := first*b + c
	amplitude := (first*b - c) / sum
	return Result{
		Amplitude: amplitude, R: power(amplitude),
		T: 4 * real(first) * real(last) / power(sum),
	}
}

// Unpolarised returns the reflectance for unpolarised light.
func (s Stack) Unpolarised(wavelength unit.Nanometres, angle float64) float64 {
	return (s.Reflect(wavelength, angle, S).R + s.Reflect(wavelength, angle, P).R) / 2
}

func power(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
