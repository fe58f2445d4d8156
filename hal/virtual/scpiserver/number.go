package scpiserver

import (
	"math"
	"strconv"
	"strings"
)

// suffixes are the units of IEEE 488.2 table 7-2 that a supply knows. M is milli.
var suffixes = map[string]map[string]float64{
	"V":   {"V": 1, "MV": 1e-3, "UV": 1e-6, "KV": 1e3},
	"A":   {"A": 1, "MA": 1e-3, "UA": 1e-6, "KA": 1e3},
	"S":   {"S": 1, "MS": 1e-3},
	"V/S": {"V/S": 1},
	"":    {},
}

// span is what a numeric parameter may be.
type span struct {
	least, most, rest float64 // MIN, MAX, DEF
	unit              string
}

// decimal reads NRf with an optional suffix, or MIN, MAX, DEF.
func (s span) decimal(text string) (float64, code) {
	switch strings.ToUpper(text) {
	case "MIN", "MINIMUM":
		return s.least, noError
	case "MAX", "MAXIMUM":
		return s.most, noError
	case "DEF", "DEFAULT":
		return s.rest, noError
	}
	number, suffix := cutNumber(text)
	if number == "" {
		return math.NaN(), dataType
	}
	value, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return math.NaN(), numericData
	}
	if suffix != "" {
		factor, known := suffixes[s.unit][strings.ToUpper(suffix)]
		if !known {
			return math.NaN(), invalidSuffix
		}
		value *= factor
	}
	if value < s.least || value > s.most {
		return math.NaN(), outOfRange
	}
	return value, noError
}

// cutNumber takes [+-]digits[.digits][E[+-]digits] from the front, by a grammar of
// its own: the library's also takes inf, NaN, hexadecimal and underscores.
func cutNumber(text string) (number, suffix string) {
	i := sign(text, 0)
	begin := i
	i = digits(text, i)
	count := i - begin
	if i < len(text) && text[i] == '.' {
		after := digits(text, i+1)
		count += after - i - 1
		i = after
	}
	if count == 0 {
		return "", text
	}
	if i < len(text) && (text[i] == 'E' || text[i] == 'e') {
		from := sign(text, i+1)
		if to := digits(text, from); to > from {
			i = to
		}
	}
	return text[:i], strings.TrimSpace(text[i:])
}

func sign(text string, i int) int {
	if i < len(text) && (text[i] == '+' || text[i] == '-') {
		return i + 1
	}
	return i
}

func digits(text string, i int) int {
	for i < len(text) && text[i] >= '0' && text[i] <= '9' {
		i++
	}
	return i
}

// integer reads a whole number, decimal or #H, #Q, #B.
func integer(text string, most int64) (int64, code) {
	base := 10
	if len(text) > 2 && text[0] == '#' {
		base = map[byte]int{'H': 16, 'h': 16, 'Q': 8, 'q': 8, 'B': 2, 'b': 2}[text[1]]
		if base == 0 || strings.ContainsAny(text[2:], "+-_") {
			return 0, numericData
		}
		value, err := strconv.ParseInt(text[2:], base, 64)
		if err != nil {
			return 0, numericData
		}
		return inside(value, most)
	}
	value, fault := span{least: 0, most: float64(most)}.decimal(text)
	if fault != noError {
		return 0, fault
	}
	return int64(math.Round(value)), noError
}

func inside(value, most int64) (int64, code) {
	if value < 0 || value > most {
		return 0, outOfRange
	}
	return value, noError
}

// boolean reads ON, OFF or a number, which is on when it rounds to other than 0.
func boolean(text string) (bool, code) {
	switch strings.ToUpper(text) {
	case "ON":
		return true, noError
	case "OFF":
		return false, noError
	}
	value, fault := span{least: -1e9, most: 1e9}.decimal(text)
	if fault != noError {
		return false, fault
	}
	return math.Round(value) != 0, noError
}

// nr3 writes a number as the instrument answers it. What is not a number is the
// 9.91E+37 of SCPI-99 volume 1, 7.2.1.4.
func nr3(value float64) string {
	if math.IsNaN(value) {
		value = 9.91e37
	}
	text := strconv.FormatFloat(value+0, 'E', 6, 64)
	if !math.Signbit(value + 0) {
		return "+" + text
	}
	return text
}

func nr1(value int64) string { return strconv.FormatInt(value, 10) }

func flag(on bool) string {
	if on {
		return "1"
	}
	return "0"
}
