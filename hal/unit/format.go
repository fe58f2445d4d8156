package unit

import (
	"fmt"
	"math"
	"strconv"
)

// Format writes a quantity with the fewest digits that read back as the same
// number, and its canonical unit: "70 V", "5 mA/cm2", "24 °C".
func Format[T Quantity](value T) string {
	return digitsOf(float64(value)) + " " + dimensionOf[T]().symbol
}

// In converts a quantity to another unit of its dimension, for display: 929.0304 cm²
// in "ft2" is 1. A unit that the dimension does not have is an error.
func In[T Quantity](value T, symbol string) (float64, error) {
	d := dimensionOf[T]()
	factor, ok := d.lookup(symbol)
	if !ok {
		return math.NaN(), fmt.Errorf("cannot show %s in %q; allowed is %s", d.noun, short(symbol), d.offer)
	}
	return factor.number(float64(value)), nil
}

// Symbol is the canonical unit of a type: "mA/cm2".
func Symbol[T Quantity]() string { return dimensionOf[T]().symbol }

// digitsOf avoids the exponent where a person would.
func digitsOf(value float64) string {
	size := math.Abs(value)
	if size == 0 || (size >= 1e-6 && size < 1e15) {
		return strconv.FormatFloat(value, 'f', -1, 64)
	}
	return strconv.FormatFloat(value, 'g', -1, 64)
}

func (q Volts) String() string             { return Format(q) }
func (q Amperes) String() string           { return Format(q) }
func (q Seconds) String() string           { return Format(q) }
func (q VoltsPerSecond) String() string    { return Format(q) }
func (q CurrentDensity) String() string    { return Format(q) }
func (q SquareCentimetres) String() string { return Format(q) }
func (q Millimetres) String() string       { return Format(q) }
func (q Nanometres) String() string        { return Format(q) }
func (q Celsius) String() string           { return Format(q) }
func (q Coulombs) String() string          { return Format(q) }
func (q Grams) String() string             { return Format(q) }
func (q Litres) String() string            { return Format(q) }
func (q Conductivity) String() string      { return Format(q) }
func (q Ohms) String() string              { return Format(q) }
