package unit

import (
	"fmt"
	"math"
)

// ParsePositive is [Parse] for a value that must be above zero.
func ParsePositive[T Quantity](s string) (T, error) {
	value, err := Parse[T](s)
	if err == nil && value <= 0 {
		return T(math.NaN()), fmt.Errorf("%q is not allowed; %s above 0 is needed", short(s), dimensionOf[T]().noun)
	}
	return value, err
}

// ParseNotNegative is [Parse] for a value that must be zero or above.
func ParseNotNegative[T Quantity](s string) (T, error) {
	value, err := Parse[T](s)
	if err == nil && value < 0 {
		return T(math.NaN()), fmt.Errorf("%q is not allowed; %s of 0 or above is needed", short(s), dimensionOf[T]().noun)
	}
	return value, err
}

// ParseWithin is [Parse] for a value from least to most, both allowed.
func ParseWithin[T Quantity](s string, least, most T) (T, error) {
	value, err := Parse[T](s)
	if err == nil && (value < least || value > most) {
		return T(math.NaN()), fmt.Errorf("%q is out of range; allowed is %s to %s", short(s), Format(least), Format(most))
	}
	return value, err
}
