package scpi

import "math"

var nan = math.NaN()

// splitFields appends to fields the answers of one line. They are joined by
// semicolons, which do not count inside a quoted string.
func splitFields(fields [][]byte, line []byte) [][]byte {
	return split(fields, line, ';')
}

func split(fields [][]byte, line []byte, separator byte) [][]byte {
	quoted, from := false, 0
	for i, c := range line {
		switch {
		case c == '"':
			quoted = !quoted
		case c == separator && !quoted:
			fields = append(fields, line[from:i])
			from = i + 1
		}
	}
	return append(fields, line[from:])
}
