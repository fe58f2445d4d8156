package optics

import (
	"math/cmplx"
	"sort"

	"anodized/hal/unit"
	"anodized/profiles"
)

// Air is the index of the ambient.
const Air = complex128(1)

// Index returns n - i k.
func Index(n, k float64) complex128 { return complex(n, -k) }

// IndexAt returns the index of a table at a wavelength: n and k linear in the
// wavelength, each by itself, and held constant outside the table. The table has at
// least one row, wavelengths ascending.
func IndexAt(t profiles.Table, wavelength unit.Nanometres) complex128 {
	return Index(linear(t.Nanometres, t.N, float64(wavelength)), linear(t.Nanometres, t.K, float64(wavelength)))
}

func linear(x, y []float64, at float64) float64 {
	i := sort.SearchFloat64s(x, at)
	switch {
	case i == len(x):
		return y[i-1]
	case i == 0 || x[i] == at:
		return y[i]
	}
	share := (at - x[i-1]) / (x[i] - x[i-1])
	return y[i-1] + share*(y[i]-y[i-1])
}

// Porous returns the index of a film with a share of voids, 0 to 1, by Bruggeman's
// effective medium.
func Porous(index complex128, voids float64) complex128 {
	e := index * index
	q := complex(2-3*voids, 0)*e + complex(3*voids-1, 0)
	return cmplx.Sqrt((q + cmplx.Sqrt(q*q+8*e)) / 4)
}

// normal returns N cos θ in a medium, for the tangential part s0 = N0 sin θ0 that
// all layers share: the root whose wave dies away, Im at or below 0.
func normal(index complex128, s0 float64) complex128 {
	q := cmplx.Sqrt(index*index - complex(s0*s0, 0))
	if imag(q) > 0 {
		return -q
	}
	return q
}

// Polarisation is how the electric field lies to the plane of incidence.
type Polarisation uint8

// S is across the plane of incidence, P in it.
const (
	S Polarisation = iota
	P
)

// admittance returns the tilted admittance of a medium, in units of free space.
func (p Polarisation) admittance(index, normal complex128) complex128 {
	if p == S {
		return normal
	}
	return index * index / normal
}
