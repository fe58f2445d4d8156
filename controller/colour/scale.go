package colour

import (
	"math"

	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Scale says how thick a film some volts make, at one end current density:
// Offset + NMPerVolt V.
type Scale struct {
	NMPerVolt float64 // above 0
	Offset    unit.Nanometres
}

// ScaleFor returns the scale of a calibration at another end current density, above
// 0: of the same volts, less current at the end makes more film, by the softnesses
// of the growth law. The offset is of the surface and the optical constants; it
// stays.
func ScaleFor(c profiles.Calibration, law film.Law, end unit.CurrentDensity) Scale {
	s := Scale{NMPerVolt: c.NMPerVolt, Offset: c.Offset}
	if end != c.EndCurrentDensity {
		s.NMPerVolt *= law.Softness(c.EndCurrentDensity) / law.Softness(end)
	}
	return s
}

// Thickness returns the film at some volts, never below 0.
func (s Scale) Thickness(v unit.Volts) unit.Nanometres {
	return unit.Nanometres(math.Max(0, float64(s.Offset)+s.NMPerVolt*float64(v)))
}

// Volts returns the volts that make a film.
func (s Scale) Volts(d unit.Nanometres) unit.Volts {
	return unit.Volts(float64(d-s.Offset) / s.NMPerVolt)
}
