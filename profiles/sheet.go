package profiles

import (
	"encoding/csv"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"anodized/hal/unit"
)

// column is one column of a sheet: numbers, or words.
type column struct {
	name        string
	needed      bool
	to          *[]float64
	words       *[]string
	least, most float64
	ascends     bool
}

// sheet reads a CSV file of named columns in any order.
type sheet struct {
	report
	places []int // the line of each row
}

const mostMistakes = 50 // of a sheet, whose one slip can repeat in each row

func (s *sheet) read(content []byte, columns []column, leastRows int) {
	text, ok := s.text(content, mostFile)
	if !ok {
		return
	}
	rows := csv.NewReader(strings.NewReader(text))
	rows.FieldsPerRecord = -1
	header, err := rows.Read()
	if err != nil {
		s.sayAt(1, 1, "the file is empty; a header line is needed: %s", headerOf(columns))
		return
	}
	order, ok := s.header(header, columns)
	if !ok {
		return
	}
	if count := s.rows(rows, order); count < leastRows && len(s.mistakes) == 0 {
		s.sayAt(1, 1, "%d rows below the header; at least %d are needed", count, leastRows)
	}
}

// header finds which column stands where.
func (s *sheet) header(names []string, columns []column) ([]*column, bool) {
	order := make([]*column, len(names))
	var seen []string
	for i, name := range names {
		if len(s.mistakes) >= mostMistakes {
			s.sayAt(1, 1, "more than %d mistakes in %d columns; the rest was not read", mostMistakes, len(names))
			return order, false
		}
		name = strings.TrimSpace(name)
		at := slices.IndexFunc(columns, func(c column) bool { return c.name == name })
		switch {
		case at < 0:
			s.sayAt(1, columnAt(names, i), "unknown column %q%s allowed: %s", brief(name), endSentence(didYouMean(name, namesOfColumns(columns))), headerOf(columns))
		case contains(seen, name):
			s.sayAt(1, columnAt(names, i), "column %q stands twice", name)
		default:
			order[i] = &columns[at]
			seen = append(seen, name)
		}
	}
	for _, c := range columns {
		if c.needed && !contains(seen, c.name) {
			s.sayAt(1, 1, "missing column %q; needed: %s", c.name, headerOf(columns))
		}
	}
	return order, len(s.mistakes) == 0
}

// rows reads row after row and counts them.
func (s *sheet) rows(rows *csv.Reader, order []*column) int {
	count := 0
	for len(s.mistakes) < mostMistakes {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			return count
		}
		if err != nil {
			s.csvMistake(err)
			return count
		}
		count++
		line, _ := rows.FieldPos(0)
		s.places = append(s.places, line)
		if len(row) != len(order) {
			s.sayAt(line, 1, "%d cells; the header has %d columns", len(row), len(order))
			continue
		}
		for i, c := range order {
			s.cell(c, strings.TrimSpace(row[i]), line, s.characters(rows.FieldPos(i)))
		}
	}
	s.sayAt(s.mistakes[len(s.mistakes)-1].Line, 1, "more than %d mistakes; the rest of the file was not read", mostMistakes)
	return count
}

// characters turns a place in bytes into one in characters, counted from 1.
func (s *sheet) characters(line, column int) int {
	if line < 1 || line > len(s.lines) {
		return max(column, 1)
	}
	text := s.lines[line-1]
	return utf8.RuneCountInString(text[:max(0, min(column-1, len(text)))]) + 1
}

func (s *sheet) csvMistake(err error) {
	var located *csv.ParseError
	if errors.As(err, &located) {
		s.sayAt(located.Line, s.characters(located.Line, located.Column), "not readable as CSV: %v", located.Err)
		return
	}
	s.sayAt(1, 1, "not readable as CSV: %v", err)
}

func (s *sheet) cell(c *column, text string, line, at int) {
	if c.words != nil {
		*c.words = append(*c.words, text)
		return
	}
	if text == "" && !c.needed {
		*c.to = append(*c.to, math.NaN())
		return
	}
	value, err := unit.ParseNumber(text)
	switch {
	case text == "":
		s.sayAt(line, at, "column %s is empty; leave out a row that has no reading", c.name)
	case err != nil:
		s.sayAt(line, at, "column %s: %v", c.name, err)
	case value < c.least || value > c.most:
		s.sayAt(line, at, "column %s: %q is out of range; allowed is %s to %s", c.name, text, withUnit(c.least, ""), withUnit(c.most, ""))
	case c.ascends && len(*c.to) > 0 && value <= (*c.to)[len(*c.to)-1]:
		s.sayAt(line, at, "column %s: %s does not come after %s; rows are in the order of time", c.name, text, withUnit((*c.to)[len(*c.to)-1], ""))
	}
	*c.to = append(*c.to, value)
}

func headerOf(columns []column) string {
	needed, optional := "", ""
	for _, c := range columns {
		if c.needed {
			needed += "," + c.name
		} else {
			optional += ", " + c.name
		}
	}
	return needed[1:] + " and optionally " + optional[2:]
}

func namesOfColumns(columns []column) []string {
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.name
	}
	return names
}

// columnAt is the place of a name in the header line.
func columnAt(names []string, i int) int {
	at := 1
	for _, name := range names[:i] {
		at += len([]rune(name)) + 1
	}
	return at
}
