package mesh

import (
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
	// mostBytes bounds what is read into memory: some five million triangles.
	mostBytes = 256 << 20
	// farthest is beyond any part in any unit; what is farther is a broken file.
	farthest = 1e9
)

// ReadSTL reads an STL file, ASCII or binary. Binary is told by its length, since
// some programs write "solid" into binary headers too.
func ReadSTL(r io.Reader) ([]Triangle, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read the mesh: %w", err)
	}
	if len(data) > mostBytes {
		return nil, fmt.Errorf("the mesh is larger than %d MiB: export it coarser", mostBytes>>20)
	}
	switch {
	case isBinary(data):
		return readBinary(data[headerBytes+countBytes:])
	case bytes.HasPrefix(bytes.TrimLeft(data, " \t\r\n"), []byte("solid")):
		return readASCII(data)
	case len(data) >= headerBytes+countBytes:
		return nil, fmt.Errorf("this is no whole STL file: its header promises %d triangles, its length of %d bytes fits another number; export it again", promised(data), len(data))
	}
	return nil, errors.New("this is no STL file: it neither begins with \"solid\" nor has a binary header; export the part as STL")
}

func promised(data []byte) uint32 {
	return binary.LittleEndian.Uint32(data[headerBytes:])
}

func isBinary(data []byte) bool {
	return len(data) >= headerBytes+countBytes &&
		int64(len(data)) == headerBytes+countBytes+triangleBytes*int64(promised(data))
}

func readBinary(data []byte) ([]Triangle, error) {
	triangles := make([]Triangle, 0, len(data)/triangleBytes)
	for ; len(data) >= triangleBytes; data = data[triangleBytes:] {
		var t Triangle
		for i := range 9 { // the first three floats are the normal, which is not needed
			bits := binary.LittleEndian.Uint32(data[12+4*i:])
			t[i/3][i%3] = plain(float64(math.Float32frombits(bits)))
		}
		if !t.finite() {
			return nil, fmt.Errorf("triangle %d has a corner that is not finite, or farther than 1e9: export it again", len(triangles)+1)
		}
		triangles = append(triangles, t)
	}
	return some(triangles)
}

// plain makes one zero of the two, so that equal corners compare equal.
func plain(x float64) float64 { return x + 0 }

func (t *Triangle) finite() bool {
	for _, p := range t {
		for _, x := range p {
			if !(math.Abs(x) <= farthest) { // NaN too
				return false
			}
		}
	}
	return true
}

func some(triangles []Triangle) ([]Triangle, error) {
	if len(triangles) == 0 {
		return nil, errors.New("the mesh holds no triangle: export the part as STL")
	}
	return triangles, nil
}
