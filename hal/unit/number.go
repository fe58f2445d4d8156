package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// split cuts "1.5 V/s" into its number and its unit. The number follows our own
// grammar, [+-]digits[.digits][e[+-]digits], because strconv.ParseFloat would also
// take inf, NaN, 0x1p4 and 1_000.
func split(text string) (number, symbol string) {
	text = strings.TrimFunc(strings.ReplaceAll(text, "\u2212", "-"), unicode.IsSpace)
	end := numberLength(text)
	return text[:end], strings.TrimFunc(text[end:], unicode.IsSpace)
}

func numberLength(text string) int {
	i := signLength(text)
	whole := digits(text[i:])
	i += whole
	fraction := 0
	if strings.HasPrefix(text[i:], ".") {
		fraction = digits(text[i+1:])
		i += 1 + fraction
	}
	if whole+fraction == 0 {
		return 0
	}
	return i + exponentLength(text[i:])
}

// exponentLength is zero where an e is not followed by digits: it begins a unit then.
func exponentLength(text string) int {
	if text == "" || (text[0] != 'e' && text[0] != 'E') {
		return 0
	}
	sign := signLength(text[1:])
	power := digits(text[1+sign:])
	if power == 0 {
		return 0
	}
	return 1 + sign + power
}

func signLength(text string) int {
	if text != "" && (text[0] == '+' || text[0] == '-') {
		return 1
	}
	return 0
}

func digits(text string) int {
	i := 0
	for i < len(text) && text[i] >= '0' && text[i] <= '9' {
		i++
	}
	return i
}

// finite turns a number of our grammar into a float that is neither infinite nor
// zero by underflow.
func finite(number string) (float64, error) {
	value, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsInf(value, 0) {
		return math.NaN(), fmt.Errorf("%s is too large to be a number of this program", short(number))
	}
	if value == 0 && written(number) {
		return math.NaN(), fmt.Errorf("%s is too small to be a number of this program", short(number))
	}
	return value, nil
}

// written tells whether a number has a digit other than zero before its exponent.
func written(number string) bool {
	mantissa, _, _ := strings.Cut(strings.ToLower(number), "e")
	return strings.ContainsAny(mantissa, "123456789")
}

// short keeps a message readable when somebody feeds a book.
func short(text string) string {
	const most = 40
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "..."
	}
	return text
}
