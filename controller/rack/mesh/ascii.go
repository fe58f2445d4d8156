package mesh

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
)

// ascii reads the keywords that carry the surface: each facet's three vertices, between
// "outer loop" and "endloop". Normals and names are not needed.
type ascii struct {
	g       *gatherer
	corners [3]Point
	held    int // corners of the facet under way
}

// readASCII reads lines where they lie in the buffer, which is far longer than any line of
// the format.
func readASCII(in *bufio.Reader) (*Surface, error) {
	a := ascii{g: newGatherer(firstFacets)}
	for number := 1; ; number++ {
		line, ended := in.ReadSlice('\n')
		if errors.Is(ended, bufio.ErrBufferFull) {
			return nil, fmt.Errorf("line %d is longer than %d bytes: this is no STL file", number, bufferBytes)
		}
		if ended != nil && !errors.Is(ended, io.EOF) {
			return nil, fmt.Errorf("read the mesh: %w", ended)
		}
		if err := a.line(bytes.TrimSuffix(line, []byte("\n"))); err != nil {
			return nil, fmt.Errorf("line %d: %w", number, err)
		}
		if ended != nil {
			break
		}
	}
	if a.held != 0 {
		return nil, errors.New("the mesh ends within a facet: export it again")
	}
	return a.g.surface.some()
}

func (a *ascii) line(line []byte) error {
	word, rest := cut(line)
	switch {
	case len(word) == 0:
		return nil
	case is(word, "vertex"):
		return a.vertex(rest)
	case is(word, "endloop"):
		return a.endLoop()
	case is(word, "facet"), is(word, "outer"), is(word, "endfacet"), is(word, "solid"), is(word, "endsolid"):
		return nil
	}
	return fmt.Errorf("unknown word %.20q: want solid, facet, outer loop, vertex, endloop, endfacet or endsolid", word)
}

func (a *ascii) endLoop() error {
	if a.held != 3 {
		return fmt.Errorf("a facet has %d corners: STL has 3", a.held)
	}
	if a.g.surface.Facets() == mostFacets {
		return fmt.Errorf("the mesh holds more than %d triangles: export it coarser", mostFacets)
	}
	t := Triangle(a.corners)
	a.g.add(&t)
	a.held = 0
	return nil
}

func (a *ascii) vertex(rest []byte) error {
	p, plainly := plainVertex(rest)
	if !plainly {
		var err error
		if p, err = vertex(rest); err != nil {
			return err
		}
	}
	if a.held == 3 {
		return errors.New("a facet has more than 3 corners: STL has 3")
	}
	a.corners[a.held] = p
	a.held++
	return nil
}

// plainVertex reads a vertex as nearly all files have it; ok is false where it is written
// otherwise, or wrong.
func plainVertex(rest []byte) (p Point, ok bool) {
	for axis := range p {
		for len(rest) > 0 && blank(rest[0]) {
			rest = rest[1:]
		}
		x, taken := number(rest)
		if taken == 0 {
			return p, false
		}
		p[axis], rest = plain(x), rest[taken:]
	}
	more, _ := cut(rest)
	return p, len(more) == 0 && p.finite()
}

func vertex(rest []byte) (p Point, err error) {
	for axis := range p {
		var word []byte
		word, rest = cut(rest)
		if len(word) == 0 {
			return p, fmt.Errorf("a vertex has %d numbers: it has 3", axis)
		}
		if p[axis], err = strconv.ParseFloat(string(word), 64); err != nil {
			return p, fmt.Errorf("vertex: %.20q is not a number", word)
		}
		p[axis] = plain(p[axis])
	}
	if more, _ := cut(rest); len(more) > 0 {
		return p, errors.New("a vertex has more than 3 numbers: it has 3")
	}
	if !p.finite() {
		return p, fmt.Errorf("vertex: %v is not finite, or farther than 1e9", p)
	}
	return p, nil
}

// cut parts the first word of a line from the rest.
func cut(line []byte) (word, rest []byte) {
	begin := 0
	for begin < len(line) && blank(line[begin]) {
		begin++
	}
	end := begin
	for end < len(line) && !blank(line[end]) {
		end++
	}
	return line[begin:end], line[end:]
}

func blank(c byte) bool { return c == ' ' || c == '\t' || c == '\r' || c == '\f' || c == '\v' }

func is(word []byte, keyword string) bool {
	return len(word) == len(keyword) && (string(word) == keyword || bytes.EqualFold(word, []byte(keyword)))
}
