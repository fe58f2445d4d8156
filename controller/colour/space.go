package colour

import "math"

// XYZ are tristimulus values; the white has Y = 100.
type XYZ struct{ X, Y, Z float64 }

// Lab is a colour in CIELAB. It means nothing without its white.
type Lab struct{ L, A, B float64 }

// LCh is Lab by lightness, chroma and hue in degrees, from 0 to below 360.
type LCh struct{ L, C, H float64 }

// Array returns X, Y, Z.
func (c XYZ) Array() [3]float64 { return [3]float64{c.X, c.Y, c.Z} }

// Array returns L*, a*, b*.
func (c Lab) Array() [3]float64 { return [3]float64{c.L, c.A, c.B} }

// Array returns L*, C*, h.
func (c LCh) Array() [3]float64 { return [3]float64{c.L, c.C, c.H} }

// The constants of CIELAB, as the ratios that make both branches meet.
const (
	linearBelow = 216.0 / 24389
	linearSlope = 24389.0 / 27
)

// Lab returns the colour seen against a white.
func (c XYZ) Lab(white XYZ) Lab {
	x, y, z := compress(c.X/white.X), compress(c.Y/white.Y), compress(c.Z/white.Z)
	return Lab{L: 116*y - 16, A: 500 * (x - y), B: 200 * (y - z)}
}

func compress(t float64) float64 {
	if t > linearBelow {
		return math.Cbrt(t)
	}
	return (linearSlope*t + 16) / 116
}

// XYZ returns the tristimulus values of a colour seen against a white.
func (c Lab) XYZ(white XYZ) XYZ {
	y := (c.L + 16) / 116
	return XYZ{
		X: white.X * expand(y+c.A/500),
		Y: white.Y * expand(y),
		Z: white.Z * expand(y-c.B/200),
	}
}

func expand(f float64) float64 {
	if cube := f * f * f; cube > linearBelow {
		return cube
	}
	return (116*f - 16) / linearSlope
}

// LCh returns the colour by lightness, chroma and hue; a grey has hue 0.
func (c Lab) LCh() LCh {
	h := math.Atan2(c.B, c.A) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	if h >= 360 {
		h = 0
	}
	return LCh{L: c.L, C: math.Hypot(c.A, c.B), H: h}
}
