package mesh

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

const (
	headerBytes   = 80
	countBytes    = 4
	triangleBytes = 50
	bufferBytes   = 64 << 10
	// firstFacets is for how many room is made before any was read: a header may promise
	// what never comes.
	firstFacets = 1 << 12
)

// ReadSTL reads an STL file, ASCII or binary, as it comes. Some programs write "solid"
// into binary headers too, but their number of triangles has a byte of zeros, which no
// text has.
func ReadSTL(r io.Reader) (*Surface, error) {
	in := bufio.NewReaderSize(r, bufferBytes)
	start, err := in.Peek(headerBytes + countBytes)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("read the mesh: %w", err)
	}
	word := bytes.TrimLeft(start, " \t\r\n")
	switch {
	case len(word) >= 5 && bytes.EqualFold(word[:5], []byte("solid")) && bytes.IndexByte(start, 0) < 0:
		return readASCII(in)
	case len(start) == headerBytes+countBytes:
		return readBinary(in)
	}
	return nil, errors.New("this is no STL file: it neither begins with \"solid\" nor has a binary header; export the part as STL")
}

func readBinary(in *bufio.Reader) (*Surface, error) {
	var header [headerBytes + countBytes]byte
	if _, err := io.ReadFull(in, header[:]); err != nil {
		return nil, fmt.Errorf("read the mesh: %w", err)
	}
	promised := int(binary.LittleEndian.Uint32(header[headerBytes:]))
	if promised > mostFacets {
		return nil, fmt.Errorf("this is no STL file, or its header promises %d triangles: at most %d are read; export it coarser", promised, mostFacets)
	}
	g := newGatherer(min(promised, firstFacets))
	var record [triangleBytes]byte
	for n := range promised {
		if _, err := io.ReadFull(in, record[:]); err != nil {
			return nil, fmt.Errorf("this is no whole STL file: its header promises %d triangles, and it ends after %d: %w; export it again", promised, n, err)
		}
		t, ok := decode(&record)
		if !ok {
			return nil, fmt.Errorf("triangle %d has a corner that is not finite, or farther than 1e9: export it again", n+1)
		}
		g.add(&t)
	}
	if _, err := in.ReadByte(); !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("this is no whole STL file: its header promises %d triangles, and it goes on after them; export it again", promised)
	}
	return g.surface.some()
}

// decode reads one triangle; the first three floats are the normal, which is not needed.
func decode(record *[triangleBytes]byte) (t Triangle, ok bool) {
	ok = true
	for corner := range t {
		for axis := range t[corner] {
			bits := binary.LittleEndian.Uint32(record[12+12*corner+4*axis:])
			t[corner][axis] = plain(float64(math.Float32frombits(bits)))
		}
		ok = ok && t[corner].finite()
	}
	return t, ok
}
