package colour

import (
	"fmt"
	"math"
	"strconv"
)

// Screen is a colour as an sRGB screen shows it.
type Screen struct {
	Red, Green, Blue uint8
	InGamut          bool // false: outside what the screen can show, shown clipped
}

// Hex returns the colour as #rrggbb.
func (s Screen) Hex() string {
	return fmt.Sprintf("#%02x%02x%02x", s.Red, s.Green, s.Blue)
}

// matrix is three rows of three.
type matrix [9]float64

func (m *matrix) times(c XYZ) XYZ {
	return XYZ{
		X: m[0]*c.X + m[1]*c.Y + m[2]*c.Z,
		Y: m[3]*c.X + m[4]*c.Y + m[5]*c.Z,
		Z: m[6]*c.X + m[7]*c.Y + m[8]*c.Z,
	}
}

var (
	// IEC 61966-2-1, XYZ over 100 under D65 to linear red, green, blue, and the
	// inverse as computed from it.
	toScreen   = matrix{3.2406, -1.5372, -0.4986, -0.9689, 1.8758, 0.0415, 0.0557, -0.2040, 1.0570}
	fromScreen = toScreen.inverse()
	// Bradford's cone responses (from memory) and back.
	bradford     = matrix{0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296}
	fromBradford = bradford.inverse()
)

func (m *matrix) inverse() matrix {
	a, b, c, d, e, f, g, h, i := m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], m[8]
	whole := a*(e*i-f*h) - b*(d*i-f*g) + c*(d*h-e*g)
	return matrix{
		(e*i - f*h) / whole, (c*h - b*i) / whole, (b*f - c*e) / whole,
		(f*g - d*i) / whole, (a*i - c*g) / whole, (c*d - a*f) / whole,
		(d*h - e*g) / whole, (b*g - a*h) / whole, (a*e - b*d) / whole,
	}
}

// Adapted returns the colour that looks under one white as it did under another, by
// Bradford's transform.
func (c XYZ) Adapted(from, to XYZ) XYZ {
	if from == to {
		return c
	}
	cones, before, after := bradford.times(c), bradford.times(from), bradford.times(to)
	return fromBradford.times(XYZ{
		X: cones.X * after.X / before.X, Y: cones.Y * after.Y / before.Y, Z: cones.Z * after.Z / before.Z,
	})
}

// Screen returns the colour, seen under D65, as a screen shows it.
func (c XYZ) Screen() Screen {
	linear := toScreen.times(XYZ{c.X / 100, c.Y / 100, c.Z / 100})
	s := Screen{InGamut: true}
	s.Red = s.encode(linear.X)
	s.Green = s.encode(linear.Y)
	s.Blue = s.encode(linear.Z)
	return s
}

func (s *Screen) encode(c float64) uint8 {
	if !(c >= -1e-9 && c <= 1+1e-9) {
		s.InGamut = false
	}
	c = math.Min(1, math.Max(0, c))
	if c <= 0.0031308 {
		c *= 12.92
	} else {
		c = 1.055*math.Pow(c, 1/2.4) - 0.055
	}
	return uint8(math.Floor(255*c + 0.5))
}

// XYZ returns the tristimulus values, under D65, of a screen's colour.
func (s Screen) XYZ() XYZ {
	c := fromScreen.times(XYZ{decode(s.Red), decode(s.Green), decode(s.Blue)})
	return XYZ{100 * c.X, 100 * c.Y, 100 * c.Z}
}

func decode(value uint8) float64 {
	c := float64(value) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

// ParseHex reads a screen's colour, "#rrggbb" in either case.
func ParseHex(text string) (Screen, error) {
	if len(text) == 7 && text[0] == '#' {
		if bits, err := strconv.ParseUint(text[1:], 16, 24); err == nil {
			return Screen{uint8(bits >> 16), uint8(bits >> 8), uint8(bits), true}, nil
		}
	}
	return Screen{}, fmt.Errorf("%q is no colour of a screen: write # and six hexadecimal digits, as in \"#3178b7\"", text)
}
