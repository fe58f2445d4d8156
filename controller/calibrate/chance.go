package calibrate

import "math"

// beta is the regularised incomplete beta function I_x(a, b), for a and b above 0 and x
// from 0 to 1, by its continued fraction (NIST DLMF 8.17.22), to 1e-12.
func beta(x, a, b float64) float64 {
	switch {
	case !(x > 0):
		return 0
	case x >= 1:
		return 1
	case x > (a+1)/(a+b+2):
		return 1 - beta(1-x, b, a)
	}
	logs, _ := math.Lgamma(a + b)
	left, _ := math.Lgamma(a)
	right, _ := math.Lgamma(b)
	front := math.Exp(logs-left-right+a*math.Log(x)+b*math.Log1p(-x)) / a
	return front * betaFraction(x, a, b)
}

// betaFraction is the continued fraction 1/(1 + d1/(1 + d2/(1 + ...))), by Lentz's
// method.
func betaFraction(x, a, b float64) float64 {
	const tiny = 1e-300
	c, d := 1.0, 1/nonzero(1-(a+b)*x/(a+1), tiny)
	value := d
	for m := 1.0; m < 300; m++ {
		even := m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		odd := -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		before := value
		for _, term := range []float64{even, odd} {
			d = 1 / nonzero(1+term*d, tiny)
			c = nonzero(1+term/c, tiny)
			value *= c * d
		}
		if math.Abs(value-before) <= 1e-14*math.Abs(value) {
			break
		}
	}
	return value
}

func nonzero(x, tiny float64) float64 {
	if math.Abs(x) < tiny {
		return tiny
	}
	return x
}

// above is the chance that a value of Fisher's F with these degrees of freedom is
// larger.
func above(f, top, bottom float64) float64 {
	if !(f > 0) {
		return 1
	}
	return beta(bottom/(bottom+top*f), bottom/2, top/2)
}

// twoSigma is the chance of being more than two standard deviations off.
const twoSigma = 0.04550026389635842

// studentFactor widens a standard deviation that was itself estimated from so many
// degrees of freedom, until two of it hold as much as two that are known.
func studentFactor(freedom float64) float64 {
	low, high := 2.0, 200.0
	for range 60 {
		middle := (low + high) / 2
		if beta(freedom/(freedom+middle*middle), freedom/2, 0.5) > twoSigma {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 4
}
