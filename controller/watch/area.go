package watch

import "math"

// area estimates, from every reading in which film grows,
//
//	V = R0 I + w(j) (X0 + k Q / A)       w = u(j)/(1e7 B), u = ln(1 + j/i0)
//
// the high-field law read as a line in three unknowns: the series resistance R0,
// the film X0 that was there before, and one over the wetted area A. It holds in
// slow and fast ramps and while the current is limited, so the contact check and
// the ramp serve one regression. The plain quotient Q/V would be a quarter low at
// 8 V. The unknowns start from what is expected of them, which a few seconds of
// readings outweigh.
type area struct {
	m     [6]float64 // normal matrix: 00 01 02 11 12 22
	b     [3]float64
	prior [3]float64 // R0 ohm, X0 nm, 1/A 1/cm²
	n     int
	first float64 // charge at the first accepted reading
	last  float64
}

// scatter is the effective error of one voltage reading against the model, V:
// noise, steps and the model itself, which is correlated from tick to tick.
const scatter = 0.08

func (a *area) reset(series, film, declared float64) {
	*a = area{prior: [3]float64{series, film, 1 / declared}}
	a.pin(0, series, 0.8*series+0.5)
	a.pin(1, film, 2.5+0.2*film)
	a.pin(2, 1/declared, 3/declared)
}

// pin states what an unknown is expected to be, with a standard deviation.
func (a *area) pin(k int, mean, sd float64) {
	weight := scatter * scatter / (sd * sd)
	a.m[[3]int{0, 3, 5}[k]] += weight
	a.b[k] += weight * mean
}

// add takes a reading: volts, amperes, w in V/nm and k Q in nm cm².
func (a *area) add(v, i, w, kq float64) {
	x, y, z := i, w, w*kq
	a.m[0] += x * x
	a.m[1] += x * y
	a.m[2] += x * z
	a.m[3] += y * y
	a.m[4] += y * z
	a.m[5] += z * z
	a.b[0] += x * v
	a.b[1] += y * v
	a.b[2] += z * v
	if a.n == 0 {
		a.first = kq
	}
	a.n++
	a.last = kq
}

// fit is what the readings so far say.
type fit struct {
	series, film, area, areaSD float64
	ok                         bool

	inverse, inverseSD float64 // 1/A, 1/cm²: near zero, or below, where nothing grows; NaN before
}

// solve inverts the three by three normal matrix. With fewer than 20 readings
// there is no answer.
func (a *area) solve() fit {
	if a.n < 20 {
		return fit{inverse: math.NaN()}
	}
	m := a.m
	c00, c01, c02 := m[3]*m[5]-m[4]*m[4], m[2]*m[4]-m[1]*m[5], m[1]*m[4]-m[2]*m[3]
	c11, c12, c22 := m[0]*m[5]-m[2]*m[2], m[1]*m[2]-m[0]*m[4], m[0]*m[3]-m[1]*m[1]
	det := m[0]*c00 + m[1]*c01 + m[2]*c02
	if !(det > 0) {
		return fit{inverse: math.NaN()}
	}
	series := (c00*a.b[0] + c01*a.b[1] + c02*a.b[2]) / det
	film := (c01*a.b[0] + c11*a.b[1] + c12*a.b[2]) / det
	inverse := (c02*a.b[0] + c12*a.b[1] + c22*a.b[2]) / det
	sd := scatter * math.Sqrt(c22/det)
	if !(inverse > 0) || math.IsInf(inverse, 0) {
		return fit{series: max(0, series), film: film, inverse: inverse, inverseSD: sd}
	}
	return fit{series: max(0, series), film: film, area: 1 / inverse, areaSD: sd / (inverse * inverse), ok: true, inverse: inverse, inverseSD: sd}
}
