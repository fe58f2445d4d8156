package colour

import "math"

// Difference returns the CIEDE2000 difference of two colours, all weights 1. It is
// the same both ways round. A difference of 1 is about what a careful eye sees side
// by side.
func Difference(one, two Lab) float64 {
	stretch := 1.5 - 0.5*chromaShare((chroma(one.A, one.B)+chroma(two.A, two.B))/2)
	c1, h1 := chroma(stretch*one.A, one.B), hue(stretch*one.A, one.B)
	c2, h2 := chroma(stretch*two.A, two.B), hue(stretch*two.A, two.B)
	turn, middle := hues(c1*c2, h1, h2)
	mean := (c1 + c2) / 2
	light := (one.L+two.L)/2 - 50
	light *= light
	dL := (two.L - one.L) / (1 + 0.015*light/math.Sqrt(20+light))
	dC := (c2 - c1) / (1 + 0.045*mean)
	dH := 2 * math.Sqrt(c1*c2) * math.Sin(turn/2) / (1 + 0.015*mean*hueWeight(middle))
	return math.Sqrt(math.Max(0, dL*dL+dC*dC+dH*dH+rotation(mean, middle)*dC*dH))
}

func chroma(a, b float64) float64 { return math.Sqrt(a*a + b*b) }

// chromaShare is sqrt(c⁷/(c⁷ + 25⁷)).
func chromaShare(c float64) float64 {
	const level = 25.0 * 25 * 25 * 25 * 25 * 25 * 25
	square := c * c
	seventh := square * square * square * c
	return math.Sqrt(seventh / (seventh + level))
}

// hue returns an angle in radians from 0 to below 2π, 0 for a grey.
func hue(a, b float64) float64 {
	h := math.Atan2(b, a)
	if h < 0 {
		h += 2 * math.Pi
	}
	return h
}

// hues returns the turn from one hue to the other, the short way round, and the hue
// between them. Half a turn is taken to within rounding: one of the published pairs
// lies exactly on it.
func hues(product, h1, h2 float64) (turn, middle float64) {
	const halfTurn = math.Pi + 1e-9*math.Pi/180
	sum := h1 + h2
	if product == 0 {
		return 0, sum
	}
	turn = h2 - h1
	switch {
	case math.Abs(turn) <= halfTurn:
		return turn, sum / 2
	case sum < 2*math.Pi:
		middle = sum/2 + math.Pi
	default:
		middle = sum/2 - math.Pi
	}
	if turn > 0 {
		return turn - 2*math.Pi, middle
	}
	return turn + 2*math.Pi, middle
}

// The phases of the hue weight, from 30, 6 and 63 degrees.
var (
	sin30, cos30 = math.Sincos(math.Pi / 6)
	sin6, cos6   = math.Sincos(6 * math.Pi / 180)
	sin63, cos63 = math.Sincos(63 * math.Pi / 180)
)

// hueWeight is T = 1 - 0.17 cos(h-30) + 0.24 cos 2h + 0.32 cos(3h+6) - 0.20 cos(4h-63),
// with the multiples of the angle from one sine and cosine.
func hueWeight(h float64) float64 {
	s, c := math.Sincos(h)
	c2, s2 := c*c-s*s, 2*s*c
	c3, s3 := c2*c-s2*s, s2*c+c2*s
	c4, s4 := c2*c2-s2*s2, 2*s2*c2
	return 1 - 0.17*(c*cos30+s*sin30) + 0.24*c2 + 0.32*(c3*cos6-s3*sin6) - 0.20*(c4*cos63+s4*sin63)
}

// rotation is the term that turns chroma into hue around blue; elsewhere it is
// nothing that a float holds.
func rotation(chroma, hue float64) float64 {
	off := (hue*180/math.Pi - 275) / 25
	if off*off > 40 {
		return 0
	}
	return -2 * chromaShare(chroma) * math.Sin(math.Pi/3*math.Exp(-off*off))
}
