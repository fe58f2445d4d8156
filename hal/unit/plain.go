package unit

import (
	"fmt"
	"math"
	"strings"
	"unicode"
)

// ParseNumber reads a plain number without a unit, by the same grammar as [Parse].
func ParseNumber(s string) (float64, error) {
	number, rest := split(s)
	if number == "" || rest != "" {
		return math.NaN(), fmt.Errorf("%q is not a plain number: digits with at most one point", short(s))
	}
	return finite(number)
}

// ParseAs reads a number that must carry exactly this unit, for the few quantities
// that have one unit only and no type: "1.97 nm/V", "4.43 g/cm3".
func ParseAs(s, symbol string) (float64, error) {
	number, rest := split(s)
	switch {
	case number == "":
		return math.NaN(), fmt.Errorf("%q does not begin with a plain number; a number in %s is needed", short(s), symbol)
	case rest == "":
		return math.NaN(), fmt.Errorf("%q has no unit; a number in %s is needed", strings.TrimFunc(short(s), unicode.IsSpace), symbol)
	case spellings.Replace(rest) != symbol:
		return math.NaN(), fmt.Errorf("%q: unit %q; a number in %s is needed", short(s), short(rest), symbol)
	}
	return finite(number)
}
