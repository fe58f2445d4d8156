package scpi

import (
	"bytes"
	"fmt"
	"strconv"

	"anodized/hal"
)

// errGarbled marks an answer that no instrument in step with us would give. It
// makes the link dirty.
var errGarbled = fmt.Errorf("not an answer to what was asked, so %w", hal.ErrNoReading)

// notANumber is where the numbers of SCPI-99 that stand for "no number" begin:
// 9.91E37 not a number, 9.9E37 and -9.9E37 the infinities.
const notANumber = 9e36

// longestNumber is more than any instrument writes.
const longestNumber = 48

// ParseNumber reads one numeric answer: [+-]digits[.digits][E[+-]digits], with
// spaces around it and a trailing V or A tolerated. What SCPI-99 writes in place
// of a number (9.91E37 and 9.9E37, also spelt out) and an empty answer are
// hal.ErrNoReading. Any other text is hal.ErrNoReading too, and not an answer.
//
// The grammar is checked here because strconv.ParseFloat takes more than the
// standard writes: hexadecimal floats, underscores, and words for infinity.
func ParseNumber(text []byte) (float64, error) {
	number := trimUnit(trimSpaces(text))
	if len(number) == 0 || isNoNumberWord(number) {
		return nan, fmt.Errorf("answer %q: %w", text, hal.ErrNoReading)
	}
	if len(number) > longestNumber || !isNumber(number) {
		return nan, fmt.Errorf("answer %q: %w", clip(text), errGarbled)
	}
	value, err := strconv.ParseFloat(string(number), 64)
	if err != nil || value > notANumber || value < -notANumber {
		return nan, fmt.Errorf("answer %q: %w", text, hal.ErrNoReading)
	}
	return value, nil
}

func trimUnit(b []byte) []byte {
	if len(b) < 2 {
		return b
	}
	switch b[len(b)-1] {
	case 'V', 'v', 'A', 'a':
		return bytes.TrimRight(b[:len(b)-1], " ")
	}
	return b
}

func isNoNumberWord(b []byte) bool {
	if len(b) > 1 && (b[0] == '+' || b[0] == '-') {
		b = b[1:]
	}
	for _, word := range [...]string{"NAN", "INF", "NINF", "INFINITY"} {
		if len(b) == len(word) && bytes.EqualFold(b, []byte(word)) {
			return true
		}
	}
	return false
}

// isNumber tells whether all of b is a decimal number of IEEE 488.2.
func isNumber(b []byte) bool {
	b = skipSign(b)
	whole, b := skipDigits(b)
	fraction := 0
	if len(b) > 0 && b[0] == '.' {
		fraction, b = skipDigits(b[1:])
	}
	if whole+fraction == 0 {
		return false
	}
	if len(b) == 0 {
		return true
	}
	if b[0] != 'E' && b[0] != 'e' {
		return false
	}
	exponent, rest := skipDigits(skipSign(b[1:]))
	return exponent > 0 && len(rest) == 0
}

func skipSign(b []byte) []byte {
	if len(b) > 0 && (b[0] == '+' || b[0] == '-') {
		return b[1:]
	}
	return b
}

func skipDigits(b []byte) (count int, rest []byte) {
	for count < len(b) && b[count] >= '0' && b[count] <= '9' {
		count++
	}
	return count, b[count:]
}

// parseInteger reads an NR1 answer between 0 and most.
func parseInteger(text []byte, most float64) (int, error) {
	value, err := ParseNumber(text)
	if err != nil {
		return 0, fmt.Errorf("answer %q: %w", clip(text), errGarbled)
	}
	if value < 0 || value > most || value != float64(int(value)) {
		return 0, fmt.Errorf("answer %q: %w: a whole number from 0 to %g was expected", text, errGarbled, most)
	}
	return int(value), nil
}

// parseSwitch reads the answer of an on/off query: 0, 1, OFF or ON.
func parseSwitch(text []byte) (bool, error) {
	switch b := trimSpaces(text); {
	case bytes.Equal(b, []byte("1")), bytes.EqualFold(b, []byte("ON")):
		return true, nil
	case bytes.Equal(b, []byte("0")), bytes.EqualFold(b, []byte("OFF")):
		return false, nil
	}
	return false, fmt.Errorf("answer %q: %w: 0, 1, OFF or ON was expected", clip(text), errGarbled)
}

// trimSpaces leaves carriage returns and line feeds alone, so that a terminator
// other than the agreed one shows.
func trimSpaces(b []byte) []byte {
	return bytes.Trim(b, " \t")
}

// clip shortens what goes into a message.
func clip(b []byte) []byte {
	return b[:min(len(b), 64)]
}
