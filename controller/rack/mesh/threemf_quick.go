package mesh

import (
	"bufio"
	"bytes"
	"encoding/xml"
)

// quick reads vertices and triangles past the XML reader, which takes a microsecond and a
// kilobyte for each. It takes only elements that are written plainly, and leaves all else
// to that reader, which stands between two elements where quick begins and where it ends.
type quick struct {
	in    *bufio.Reader
	lines int // that the XML reader has not seen
}

// longestElement is far beyond any vertex or triangle.
const longestElement = 512

// elements takes what it can from here on.
func (q *quick) elements(to *modelReader) error {
	for to.object != nil {
		if err := q.blanks(); err != nil {
			return nil // the end, or what is wrong, is for the XML reader
		}
		text, _ := q.in.Peek(longestElement) // fewer near the end
		end := bytes.IndexByte(text, '>')
		if end < 0 {
			return nil
		}
		text = text[:end+1]
		taken, err := to.plainly(text)
		if err != nil || !taken {
			return err
		}
		q.lines += bytes.Count(text, []byte("\n"))
		if _, err := q.in.Discard(len(text)); err != nil {
			return err
		}
	}
	return nil
}

// blanks passes what stands between elements.
func (q *quick) blanks() error {
	for {
		c, err := q.in.ReadByte()
		if err != nil {
			return err
		}
		if c == '\n' {
			q.lines++
		} else if !blank(c) {
			return q.in.UnreadByte()
		}
	}
}

// atLine makes the line of a syntax error that of the file.
func (q *quick) atLine(err error) error {
	if syntax, is := err.(*xml.SyntaxError); is {
		moved := *syntax
		moved.Line += q.lines
		return &moved
	}
	return err
}

// plainly takes one element, where it is a vertex or a triangle written plainly.
func (in *modelReader) plainly(text []byte) (taken bool, err error) {
	if rest, is := bytes.CutPrefix(text, []byte("<vertex ")); is {
		var p Point
		if !threeOf(rest, "xyz", "", func(i int, value []byte) bool {
			x, length := number(value)
			p[i] = plain(x)
			return length > 0 && length == len(value)
		}) {
			return false, nil
		}
		return true, in.addCorner(p)
	}
	if rest, is := bytes.CutPrefix(text, []byte("<triangle ")); is {
		var f facet
		if !threeOf(rest, "123", "v", func(i int, value []byte) bool {
			n, end := digits(value, 0, 0)
			f[i] = int32(n)
			return end == len(value) && end > 0 && end <= 9
		}) {
			return false, nil
		}
		return true, in.addFacet(f)
	}
	return false, nil
}

// threeOf finds three attributes, each once: prefix and one of the letters. Others are
// passed. It is false where the element is not closed in itself, or an attribute is written
// in any other way than name="value" without entities.
func threeOf(rest []byte, letters, prefix string, take func(i int, value []byte) bool) bool {
	found := 0
	for {
		rest = bytes.TrimLeft(rest, " \t\r\n")
		if string(rest) == "/>" {
			return found == 1<<len(letters)-1
		}
		name, value, after, ok := attributePlain(rest)
		if !ok {
			return false
		}
		rest = after
		for i := range letters {
			if len(name) != len(prefix)+1 || string(name[:len(prefix)]) != prefix || name[len(prefix)] != letters[i] {
				continue
			}
			if found&(1<<i) != 0 || !take(i, value) {
				return false
			}
			found |= 1 << i
		}
	}
}

// attributePlain parts name="value" from what comes after it, a blank or the end.
func attributePlain(text []byte) (name, value, rest []byte, ok bool) {
	equals := bytes.IndexByte(text, '=')
	if equals < 1 || equals+1 >= len(text) {
		return nil, nil, nil, false
	}
	mark := text[equals+1]
	if name = text[:equals]; mark != '"' && mark != '\'' || !isName(name) {
		return nil, nil, nil, false
	}
	value = text[equals+2:]
	end := bytes.IndexByte(value, mark)
	if end < 0 || !isPlain(value[:end]) {
		return nil, nil, nil, false
	}
	value, rest = value[:end], value[end+1:]
	if len(rest) == 0 || !blank(rest[0]) && rest[0] != '\n' && rest[0] != '/' {
		return nil, nil, nil, false
	}
	return name, value, rest, true
}

// isPlain is true for printing ASCII without an entity: the XML reader looks at the rest.
func isPlain(value []byte) bool {
	for _, c := range value {
		if c < ' ' || c > '~' || c == '&' || c == '<' {
			return false
		}
	}
	return true
}

// isName is true for names of letters and digits: those of the core specification.
func isName(name []byte) bool {
	for i, c := range name {
		letter := c|0x20 >= 'a' && c|0x20 <= 'z'
		if !letter && (i == 0 || c-'0' > 9) {
			return false
		}
	}
	return true
}
