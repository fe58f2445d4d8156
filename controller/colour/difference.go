package colour

import "math"

// MiddleOfThree is the median length of a vector of three standard normal values, such as
// the noise of the three axes of a CIELAB reading: the square root of 2.36597, the median of
// chi-squared with three degrees of freedom (computed).
const MiddleOfThree = 1.5381722544

// Difference returns the CIEDE2000 difference of two colours, all weights 1. It is
// the same both ways round. A difference of 1 is about what a careful eye sees side
// by side.
func Difference(one, two Lab) float64 {
	stretch := 1.5 - 0.5*chromaShare((chroma(one.A, one.B)+chroma(two.A, two.B))/2)
	one.A *= stretch
	two.A *= stretch
	c1, c2 := chroma(one.A, one.B), chroma(two.A, two.B)
	dH, middle := between(one, two, c1, c2)
	mean := (c1 + c2) / 2
	light := (one.L+two.L)/2 - 50
	light *= light
	dL := (two.L - one.L) / (1 + 0.015*light/math.Sqrt(20+light))
	dC := (c2 - c1) / (1 + 0.045*mean)
	dH /= 1 + 0.015*mean*middle.weight()
	return math.Sqrt(math.Max(0, dL*dL+dC*dC+dH*dH+middle.rotation(mean)*dC*dH))
}

func chroma(a, b float64) float64 { return math.Sqrt(a*a + b*b) }

// chromaShare is sqrt(c⁷/(c⁷ + 25⁷)).
func chromaShare(c float64) float64 {
	const level = 25.0 * 25 * 25 * 25 * 25 * 25 * 25
	square := c * c
	seventh := square * square * square * c
	return math.Sqrt(seventh / (seventh + level))
}

// direction is a hue by its cosine and sine.
type direction struct{ cos, sin float64 }

// between returns the difference in hue of two colours of chromas c1 and c2, and the
// hue midway, the short way round. The half angle comes from the products of the two
// as vectors; where they are opposite, or one is grey, from the angles themselves.
func between(one, two Lab, c1, c2 float64) (dH float64, middle direction) {
	product := c1 * c2
	cos := (one.A*two.A + one.B*two.B) / product
	if product < 1e-30 || cos <= -0.99 {
		turn, hue := hues(product, angle(one), angle(two))
		sin, cos := math.Sincos(hue)
		return 2 * math.Sqrt(product) * math.Sin(turn/2), direction{cos, sin}
	}
	half := math.Sqrt((1 + cos) / 2)
	long := 2 * half * product
	middle = direction{(one.A*c2 + two.A*c1) / long, (one.B*c2 + two.B*c1) / long}
	return (one.A*two.B - one.B*two.A) / (math.Sqrt(product) * half), middle
}

// angle returns the hue in radians from 0 to below 2π, 0 for a grey.
func angle(c Lab) float64 {
	h := math.Atan2(c.B, c.A)
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
	case turn > 0:
		return turn - 2*math.Pi, sum/2 + math.Pi
	}
	return turn + 2*math.Pi, sum/2 + math.Pi
}

// The phases of the hue weight, 30, 6 and 63 degrees, and blue, at 275 degrees.
var (
	sin30, cos30 = math.Sincos(math.Pi / 6)
	sin6, cos6   = math.Sincos(6 * math.Pi / 180)
	sin63, cos63 = math.Sincos(63 * math.Pi / 180)

	sin275, cos275 = math.Sincos(275 * math.Pi / 180)
)

// weight is T = 1 - 0.17 cos(h-30) + 0.24 cos 2h + 0.32 cos(3h+6) - 0.20 cos(4h-63),
// with the multiples of the angle from its cosine and sine.
func (h direction) weight() float64 {
	c, s := h.cos, h.sin
	c2, s2 := c*c-s*s, 2*s*c
	c3, s3 := c2*c-s2*s, s2*c+c2*s
	c4, s4 := c2*c2-s2*s2, 2*s2*c2
	return 1 - 0.17*(c*cos30+s*sin30) + 0.24*c2 + 0.32*(c3*cos6-s3*sin6) - 0.20*(c4*cos63+s4*sin63)
}

// rotation is the term that turns chroma into hue around blue: near nothing, and
// taken for it, more than 120 degrees from there.
func (h direction) rotation(chroma float64) float64 {
	along, across := h.cos*cos275+h.sin*sin275, h.sin*cos275-h.cos*sin275
	if along < -0.5 {
		return 0
	}
	off := math.Atan2(across, along) * 180 / math.Pi / 25
	return -2 * chromaShare(chroma) * math.Sin(math.Pi/3*math.Exp(-off*off))
}
