package watch

import "math"

// noise measures the scatter of one reading from second differences, which a ramp
// or a decay does not inflate, and the step of the readings.
type noise struct {
	a, b  float64 // the two readings before
	n     int
	power float64 // running mean of the squared second difference
	step  float64 // least change seen, the resolution of the reading; 0: none yet
}

// settleShare is the share that a new second difference has in the running mean:
// about the last three seconds at ten readings a second.
const settleShare = 1.0 / 30

func (z *noise) push(x float64) {
	if d := math.Abs(x - z.b); z.n > 0 && d > 1e-9 && (z.step == 0 || d < z.step) {
		z.step = d
	}
	if z.n >= 2 {
		d := x - 2*z.b + z.a
		share := max(settleShare, 1/float64(z.n-1))
		z.power += share * (d*d - z.power)
	}
	z.a, z.b = z.b, x
	z.n++
}

// sd is the standard deviation of one reading: a second difference has six times
// its variance.
func (z *noise) sd() float64 {
	if z.n < 3 {
		return math.NaN()
	}
	return math.Sqrt(z.power / 6)
}
