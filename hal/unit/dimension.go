package unit

import (
	"math"
	"strings"
)

// dimension is what one quantity can be written in.
type dimension struct {
	noun   string  // with its article: "a current density"
	symbol string  // of the canonical unit
	offer  string  // the units that an error offers
	floor  float64 // the least value there can be, in the canonical unit
	least  string  // what an error says of values below the floor
	units  map[string]scale
}

// scale turns a number of some unit into one of the canonical unit:
// (number + add) × times / over. Two factors, because 850 mA is 850/1000 A to the
// last digit, and 850 × 0.001 is not.
type scale struct{ add, times, over float64 }

func (s scale) canonical(number float64) float64 { return (number + s.add) * s.times / s.over }
func (s scale) number(canonical float64) float64 { return canonical*s.over/s.times - s.add }

var unbounded = math.Inf(-1)

// dimensionOf finds the table of a type.
func dimensionOf[T Quantity]() *dimension {
	switch any(T(0)).(type) {
	case Volts:
		return &voltage
	case Amperes:
		return &current
	case Seconds:
		return &duration
	case VoltsPerSecond:
		return &rampRate
	case CurrentDensity:
		return &currentDensity
	case SquareCentimetres:
		return &area
	case Millimetres:
		return &length
	case Nanometres:
		return &thickness
	case Celsius:
		return &temperature
	case Coulombs:
		return &charge
	case Grams:
		return &mass
	case Litres:
		return &volume
	case Conductivity:
		return &conductivity
	}
	return &resistance // Ohms, the last type that Quantity admits
}

// all is searched, in this order, to name the dimension of a unit in the wrong place.
var all = []*dimension{
	&voltage, &current, &duration, &rampRate, &currentDensity, &area, &length,
	&temperature, &charge, &mass, &volume, &conductivity, &resistance,
}

// spellings are other ways to write what the tables hold. The two micro signs, the
// two ohm signs and the two ångström signs look alike and are different characters.
var spellings = strings.NewReplacer(
	"²", "2", "^2", "2", "³", "3", "^3", "3", "\u00b5", "u", "\u03bc", "u", "\u03a9", "ohm", "\u2126", "ohm",
	"\u00c5", "angstrom", "\u212b", "angstrom", "\u2103", "°C", "\u2109", "°F",
	"\u00b7", "", "\u22c5", "", " ", "", "\u00a0", "",
)

func (d *dimension) lookup(symbol string) (scale, bool) {
	s, ok := d.units[spellings.Replace(symbol)]
	return s, ok
}

// nearest is the unit of this dimension that differs from a symbol in case alone.
func (d *dimension) nearest(symbol string) string {
	wanted, found := spellings.Replace(symbol), ""
	for name := range d.units {
		if strings.EqualFold(name, wanted) && (found == "" || name < found) {
			found = name
		}
	}
	return found
}

// dimensionNamed finds the dimension that a unit belongs to.
func dimensionNamed(symbol string) (*dimension, bool) {
	for _, d := range all {
		if _, ok := d.lookup(symbol); ok {
			return d, true
		}
	}
	return nil, false
}
