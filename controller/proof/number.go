package proof

import (
	"math"
	"strconv"
)

// Number is a value that may not be known: NaN, which JSON shows as null. Its unit stands
// in the name of its field.
type Number float64

// Unknown is the number that is not known.
func Unknown() Number { return Number(math.NaN()) }

// Known tells whether there is a value.
func (n Number) Known() bool { return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0) }

// MarshalJSON writes the bare number, or null.
func (n Number) MarshalJSON() ([]byte, error) {
	switch {
	case !n.Known():
		return []byte("null"), nil
	case n == 0:
		return []byte("0"), nil // never -0
	}
	return strconv.AppendFloat(nil, float64(n), 'g', -1, 64), nil
}
