package profiles

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// CGATS.17 text, ISO 28178 (the layout from memory of CGATS.5 and CGATS.17, whose
// tables of keywords and data format identifiers are taken over by open libraries):
// an identifier, keywords with a value each, a data format, the data; then further
// tables, which take over what they do not say themselves. # begins a comment.

const (
	mostCGATSFields = 1000
	mostCGATSBytes  = 16 << 20
)

// isCGATS tells such text by its identifier, or by its data format.
func isCGATS(content []byte) bool {
	text := string(content[:min(len(content), 64<<10)])
	for line := range strings.Lines(strings.TrimPrefix(text, "\ufeff")) {
		words := strings.Fields(line)
		if len(words) == 0 || strings.HasPrefix(words[0], "#") {
			continue
		}
		return isIdentifier(words[0]) || strings.Contains(text, "BEGIN_DATA_FORMAT")
	}
	return false
}

func isIdentifier(word string) bool {
	return strings.HasPrefix(word, "CGATS") || strings.HasPrefix(word, "IT8.7/") || strings.HasPrefix(word, "ISO28178")
}

// cgatsWord is a word, or what stood in quotes, and where it stands.
type cgatsWord struct {
	text         string
	line, column int
}

// cgats is a file while it is read. What a table does not say it has from the one
// before.
type cgats struct {
	report
	part      cgatsPart
	tables    int
	keywords  map[string]string
	format    []cgatsWord
	announced cgatsWord // NUMBER_OF_FIELDS
	sets      cgatsWord // NUMBER_OF_SETS
	row       []cgatsWord
	count     int // sets of this table
	fields    *cgatsFields
	readings  []ColourReading
}

type cgatsPart uint8

const (
	inKeywords cgatsPart = iota
	inFormat
	inData
)

// ReadCGATS reads the colour readings of CGATS.17 text: LAB_L LAB_A LAB_B, XYZ_X
// XYZ_Y XYZ_Z or a spectrum, with SAMPLE_ID, SAMPLE_NAME, VOLTS and END_MA_CM2 where
// they are there. The error is [Mistakes].
func ReadCGATS(file string, content []byte) ([]ColourReading, error) {
	c := &cgats{report: report{file: file}, keywords: map[string]string{}}
	if _, ok := c.textWith(content, mostCGATSBytes, controlled); !ok {
		return nil, c.err()
	}
	for i, line := range c.lines {
		if len(c.mistakes) > 0 {
			return nil, c.err()
		}
		c.line(c.words(strings.TrimSuffix(line, "\r"), i+1), i+1)
	}
	c.end()
	if len(c.mistakes) > 0 {
		return nil, c.err()
	}
	return c.readings, nil
}

// controlled lets tabs stand wherever they like.
func controlled(line string) (column int, what string) {
	return unreadable(strings.ReplaceAll(strings.TrimLeft(line, "\t "), "\t", " "))
}

// words parts a line. Two quotes within quotes are one.
func (c *cgats) words(line string, number int) []cgatsWord {
	var found []cgatsWord
	for at := 0; at < len(line); {
		rest := line[at:]
		column := utf8.RuneCountInString(line[:at]) + 1
		switch {
		case rest[0] == ' ' || rest[0] == '\t':
			at++
		case rest[0] == '#':
			return found
		case rest[0] == '"':
			text, length, closed := quotedWord(rest)
			if !closed {
				c.sayAt(number, column, "these quotes are not closed in the line")
				return found
			}
			found = append(found, cgatsWord{text, number, column})
			at += length
		default:
			length := strings.IndexAny(rest, " \t")
			if length < 0 {
				length = len(rest)
			}
			found = append(found, cgatsWord{rest[:length], number, column})
			at += length
		}
	}
	return found
}

// quotedWord reads what stands in quotes at the start of a text.
func quotedWord(rest string) (text string, length int, closed bool) {
	for at := 1; at < len(rest); at++ {
		if rest[at] != '"' {
			continue
		}
		if at+1 < len(rest) && rest[at+1] == '"' {
			at++
			continue
		}
		return strings.ReplaceAll(rest[1:at], `""`, `"`), at + 1, true
	}
	return "", 0, false
}

func (c *cgats) line(words []cgatsWord, number int) {
	switch {
	case len(words) == 0:
	case c.part == inFormat:
		c.formatLine(words)
	case c.part == inData:
		c.dataLine(words)
	default:
		c.keywordLine(words)
	}
}

func (c *cgats) keywordLine(words []cgatsWord) {
	first := words[0]
	value := cgatsWord{line: first.line, column: first.column}
	if len(words) > 1 {
		value = words[1]
		for _, more := range words[2:] {
			value.text += " " + more.text
		}
	}
	switch first.text {
	case "KEYWORD": // declares a word that is not of the standard; we take any
	case "NUMBER_OF_FIELDS":
		c.announced = value
	case "NUMBER_OF_SETS":
		c.sets = value
	case "BEGIN_DATA_FORMAT":
		c.part, c.format, c.fields = inFormat, nil, nil
		c.formatLine(words[1:])
	case "BEGIN_DATA":
		c.beginData(first)
		if len(c.mistakes) == 0 {
			c.dataLine(words[1:])
		}
	case "END_DATA", "END_DATA_FORMAT":
		c.sayAt(first.line, first.column, "%s stands here without its %s", first.text, strings.Replace(first.text, "END", "BEGIN", 1))
	default:
		c.keyword(strings.ToUpper(first.text), value.text)
	}
}

// keyword keeps what a keyword says. A weighting function is said in several lines.
func (c *cgats) keyword(word, value string) {
	switch {
	case isIdentifier(word):
	case word == "WEIGHTING_FUNCTION":
		c.keywords[word] += " " + value
	default:
		c.keywords[word] = value
	}
}

func (c *cgats) formatLine(words []cgatsWord) {
	for _, word := range words {
		if word.text == "END_DATA_FORMAT" {
			c.part = inKeywords
			c.counted(c.announced, len(c.format), "fields", "NUMBER_OF_FIELDS")
			c.announced = cgatsWord{}
			return
		}
		c.format = append(c.format, word)
		if len(c.format) > mostCGATSFields {
			c.sayAt(word.line, word.column, "the data format has more than %d fields", mostCGATSFields)
			return
		}
	}
}

// counted holds what was announced against what came.
func (c *cgats) counted(announced cgatsWord, came int, what, keyword string) {
	if announced.text == "" {
		return
	}
	if n, err := strconv.Atoi(announced.text); err != nil || n != came {
		c.sayAt(announced.line, announced.column, "%s says %q and there are %d %s: was the file cut off or edited?", keyword, brief(announced.text), came, what)
	}
}

func (c *cgats) beginData(at cgatsWord) {
	if len(c.format) == 0 {
		c.sayAt(at.line, at.column, "data begin before a data format; BEGIN_DATA_FORMAT ... END_DATA_FORMAT is needed above")
		return
	}
	if c.fields == nil {
		c.fields = c.fieldsOf(c.format)
	}
	c.part, c.count, c.row = inData, 0, nil
	c.tables++
}

// dataLine collects a set, which may go on over several lines.
func (c *cgats) dataLine(words []cgatsWord) {
	for _, word := range words {
		if word.text == "END_DATA" {
			c.endData(word)
			return
		}
		c.row = append(c.row, word)
	}
	switch {
	case len(c.row) > len(c.format):
		c.sayAt(c.row[0].line, c.row[0].column, "this set has %d values; the data format has %d fields; a text with spaces stands in quotes", len(c.row), len(c.format))
	case len(c.row) == len(c.format):
		c.set()
	}
}

func (c *cgats) set() {
	c.count++
	if len(c.readings) >= mostReadings {
		c.sayAt(c.row[0].line, c.row[0].column, "the file has more than %d readings", mostReadings)
		return
	}
	if c.fields.coloured() {
		c.readings = append(c.readings, c.reading())
	}
	c.row = nil
}

func (c *cgats) endData(at cgatsWord) {
	if len(c.row) > 0 {
		c.sayAt(c.row[0].line, c.row[0].column, "this set has %d values; the data format has %d fields", len(c.row), len(c.format))
		return
	}
	c.part = inKeywords
	c.counted(c.sets, c.count, "sets", "NUMBER_OF_SETS")
	c.sets = cgatsWord{}
	c.scaleSpectra()
}

func (c *cgats) end() {
	last := len(c.lines)
	switch {
	case len(c.mistakes) > 0:
	case c.part == inFormat:
		c.sayAt(last, 1, "the file ends within its data format: END_DATA_FORMAT is missing")
	case c.part == inData:
		c.sayAt(last, 1, "the file ends within its data: END_DATA is missing")
	case len(c.readings) == 0 && c.tables == 0:
		c.sayAt(1, 1, "there are no data: BEGIN_DATA ... END_DATA is needed")
	case len(c.readings) == 0:
		c.sayAt(1, 1, "no table has colours: LAB_L LAB_A LAB_B, XYZ_X XYZ_Y XYZ_Z or a spectrum (SPECTRAL_NM with SPECTRAL_PCT or SPECTRAL_DEC, or SPECTRAL_NM400 and so on) is needed")
	}
}
