package rtd

import (
	"math"

	"anodized/hal/unit"
)

// The coefficients of IEC 60751 for R/R0, T in °C.
const (
	a = 3.9083e-3
	b = -5.775e-7
	c = -4.183e-12 // below 0 °C only
)

// Celsius is the temperature of a platinum resistor that has r0 ohms at 0 °C, exact
// above 0 °C and to a millionth of a degree down to -200 °C. It is not a number where
// the curve has no such resistance.
func Celsius(ohms, r0 float64) unit.Celsius {
	ratio := ohms / r0
	root := a*a - 4*b*(1-ratio)
	if !(root >= 0) || !(ratio > 0) {
		return unit.Celsius(math.NaN())
	}
	t := (-a + math.Sqrt(root)) / (2 * b)
	if t >= 0 {
		return unit.Celsius(t)
	}
	for range 8 { // Newton's steps from the branch above 0 °C
		t -= (curve(t) - ratio) / slope(t)
	}
	return unit.Celsius(t)
}

// curve is R/R0 below 0 °C; slope is its derivative.
func curve(t float64) float64 { return 1 + a*t + b*t*t + c*(t-100)*t*t*t }
func slope(t float64) float64 { return a + 2*b*t + c*(4*t-300)*t*t }

// ohms is the resistance at a temperature.
func ohms(t, r0 float64) float64 {
	if t < 0 {
		return r0 * curve(t)
	}
	return r0 * (1 + a*t + b*t*t)
}
