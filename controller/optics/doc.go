// Package optics is the specular reflectance of thin films: a film on a metal, fast,
// and any stack of layers, by the characteristic matrix.
//
// Conventions: complex index N = n - i k with k at or above 0, time factor
// exp(+i ω t); wavelengths and thicknesses in nm; angles of incidence in radians
// from the normal. Reflectance is a share from 0 to 1, unpolarised light is the
// mean of both polarisations. Layers are even, smooth and coherent.
//
// Sources: H. A. Macleod, Thin-Film Optical Filters; M. Born and E. Wolf,
// Principles of Optics (both from memory).
package optics
