package film

import "math"

// E2 returns the exponential integral of order 2 for u at or above 0, to 1e-14
// relative; for u below 0 it is not a number. Continued fraction DLMF 8.19.17 in
// its contracted form, and for small u the series of E1 (DLMF 6.6.2).
func E2(u float64) float64 {
	switch {
	case u == 0:
		return 1
	case u < 1:
		return math.Exp(-u) - u*smallE1(u)
	case u >= 1:
		return math.Exp(-u) * fractionE2(u)
	}
	return math.NaN()
}

// fractionE2 is e^u E2(u) for u at or above 1:
// 1/(u+2 - 2/(u+4 - 6/(u+6 - 12/(u+8 - ...)))), by Steed's forward summation.
func fractionE2(u float64) float64 {
	b := u + 2
	d := 1 / b
	term, sum := d, d
	for m := 1.0; m < 500; m++ {
		a := -m * (m + 1)
		b += 2
		d = 1 / (b + a*d)
		term *= b*d - 1
		sum += term
		if math.Abs(term) <= 1e-17*sum {
			break
		}
	}
	return sum
}

func smallE1(u float64) float64 {
	const euler = 0.57721566490153286060651209008240243
	sum, power := -euler-math.Log(u), 1.0
	for k := 1.0; k < 30; k++ {
		power *= -u / k
		sum -= power / k
	}
	return sum
}
