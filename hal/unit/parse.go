package unit

import (
	"fmt"
	"math"
	"strings"
	"unicode"
)

// Parse reads a number and its unit, such as "70 V", "4.6 A/ft2" or "75 °F", as T.
// The unit may be any of T's dimension; superscript 2, ^2 and 2 mean the same, and
// the space is optional. A missing unit, a unit of another dimension, a number that
// is not finite, and a value that cannot be (a negative area, a temperature below
// -273.15 °C) are errors that say what is allowed; the value beside an error is NaN.
func Parse[T Quantity](s string) (T, error) {
	d := dimensionOf[T]()
	number, symbol := split(s)
	if number == "" {
		return T(math.NaN()), notANumber(s, d)
	}
	s = strings.TrimFunc(s, unicode.IsSpace)
	factor, ok := d.lookup(symbol)
	if !ok {
		return T(math.NaN()), wrongUnit(s, number, symbol, d)
	}
	value, err := finite(number)
	if err != nil {
		return T(math.NaN()), err
	}
	return convert[T](s, value, factor, d)
}

func convert[T Quantity](s string, value float64, factor scale, d *dimension) (T, error) {
	canonical := factor.canonical(value)
	switch {
	case math.IsInf(canonical, 0):
		return T(math.NaN()), fmt.Errorf("%q is too large to be a number of this program", short(s))
	case canonical == 0 && value != 0 && factor.add == 0:
		return T(math.NaN()), fmt.Errorf("%q is too small to be a number of this program", short(s))
	case canonical < d.floor:
		return T(math.NaN()), fmt.Errorf("%q: %s", short(s), d.least)
	}
	return T(canonical), nil
}

func notANumber(s string, d *dimension) error {
	if strings.TrimFunc(s, unicode.IsSpace) == "" {
		return fmt.Errorf("empty; %s is needed, such as %q", d.noun, "5 "+d.symbol)
	}
	return fmt.Errorf("%q does not begin with a plain number; %s is needed, such as %q", short(s), d.noun, "5 "+d.symbol)
}

func wrongUnit(s, number, symbol string, d *dimension) error {
	if symbol == "" {
		return fmt.Errorf("%q has no unit; %s is needed: %s", short(s), d.noun, d.offer)
	}
	if computerNumber(number, symbol) {
		return fmt.Errorf("%q does not begin with a plain number: digits with at most one point and no underscore", short(s))
	}
	if strings.HasPrefix(symbol, ",") {
		return fmt.Errorf("%q has a comma in its number; write a decimal point and no thousands separator", short(s))
	}
	if other, ok := dimensionNamed(symbol); ok {
		return fmt.Errorf("%q is %s; %s is needed: %s", short(s), other.noun, d.noun, d.offer)
	}
	if near := d.nearest(symbol); near != "" {
		return fmt.Errorf("%q: unknown unit %q, did you mean %q? %s is needed: %s", short(s), short(symbol), number+" "+near, d.noun, d.offer)
	}
	return fmt.Errorf("%q: unknown unit %q; %s is needed: %s", short(s), short(symbol), d.noun, d.offer)
}

// computerNumber tells 0x46, 0b1, 1_000 and 1.2.3, which program texts allow or
// people mistype, from a number with an unknown unit.
func computerNumber(number, symbol string) bool {
	if strings.HasPrefix(symbol, "_") || strings.HasPrefix(symbol, ".") || digits(symbol) > 0 {
		return true
	}
	return strings.HasSuffix(number, "0") && len(symbol) > 1 && strings.ContainsAny(symbol[:1], "xXbBoO") &&
		strings.ContainsAny(symbol[1:2], "0123456789abcdefABCDEF_.")
}
