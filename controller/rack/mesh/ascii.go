package mesh

import (
	"bufio"
	"bytes"
	"fmt"
	"strconv"
	"strings"
)

// readASCII reads the keywords that carry the surface: each facet's three vertices,
// between "outer loop" and "endloop". Normals and names are not needed.
func readASCII(data []byte) ([]Triangle, error) {
	var triangles []Triangle
	var corners []Point
	lines := bufio.NewScanner(bytes.NewReader(data))
	for number := 1; lines.Scan(); number++ {
		words := strings.Fields(lines.Text())
		if len(words) == 0 {
			continue
		}
		switch strings.ToLower(words[0]) {
		case "vertex":
			corner, err := vertex(words)
			if err != nil {
				return nil, fmt.Errorf("line %d: %w", number, err)
			}
			corners = append(corners, corner)
		case "endloop":
			if len(corners) != 3 {
				return nil, fmt.Errorf("line %d: a facet has %d corners: STL has 3", number, len(corners))
			}
			triangles = append(triangles, Triangle(corners))
			corners = corners[:0]
		case "solid", "endsolid", "facet", "endfacet", "outer":
		default:
			return nil, fmt.Errorf("line %d: unknown word %.20q: want solid, facet, outer loop, vertex, endloop, endfacet or endsolid", number, words[0])
		}
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("read the mesh: %w", err)
	}
	if len(corners) != 0 {
		return nil, fmt.Errorf("the mesh ends within a facet: export it again")
	}
	return some(triangles)
}

func vertex(words []string) (Point, error) {
	if len(words) != 4 {
		return Point{}, fmt.Errorf("a vertex has %d numbers: it has 3", len(words)-1)
	}
	var p Point
	for i := range p {
		x, err := strconv.ParseFloat(words[i+1], 64)
		if err != nil {
			return Point{}, fmt.Errorf("vertex: %.20q is not a number", words[i+1])
		}
		p[i] = plain(x)
	}
	corner := Triangle{p}
	if !corner.finite() {
		return Point{}, fmt.Errorf("vertex: %q is not finite, or farther than 1e9", strings.Join(words[1:], " "))
	}
	return p, nil
}
