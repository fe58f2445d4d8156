package mesh_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/rack/mesh"
	_ "anodized/hal/haltest/draw" // the same cases on each run
)

func TestPublishedBlock(t *testing.T) {
	file, err := os.Open("testdata/published/angle_block.STL")
	require.NoError(t, err)
	defer func() { assert.NoError(t, file.Close()) }()
	block, err := mesh.ReadSTL(file)
	require.NoError(t, err, "a binary file whose header begins with solid")
	m := block.Measure(25.4)
	assert.Equal(t, 704, m.Triangles)
	require.True(t, m.Closed)
	const cm2PerIn2, cm3PerIn3 = 6.4516, 16.387064
	assert.InEpsilon(t, 9.388587*cm2PerIn2, float64(m.Area), 5e-4)
	assert.InEpsilon(t, 0.041358/0.036127*cm3PerIn3, *m.Volume, 1e-3)
	for axis, inches := range []float64{1.33858, 1, 1.35198} {
		assert.InEpsilon(t, inches*25.4, float64(m.Bounds[axis]), 1e-4)
	}
}

// tetrahedron has three edges of length 1 along the axes.
func tetrahedron() []mesh.Triangle {
	o, x, y, z := mesh.Point{}, mesh.Point{1}, mesh.Point{0, 1}, mesh.Point{0, 0, 1}
	return []mesh.Triangle{{o, y, x}, {o, x, z}, {o, z, y}, {x, y, z}}
}

func ascii(triangles []mesh.Triangle) string {
	var b strings.Builder
	b.WriteString("solid part\n")
	for _, t := range triangles {
		b.WriteString(" facet normal 0 0 0\n  outer loop\n")
		for _, p := range t {
			fmt.Fprintf(&b, "   vertex %v %v %v\n", p[0], p[1], p[2])
		}
		b.WriteString("  endloop\n endfacet\n")
	}
	return b.String() + "endsolid part\n"
}

func binarySTL(triangles []mesh.Triangle) []byte {
	b := append(make([]byte, 80), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(b[80:], uint32(len(triangles)))
	for _, t := range triangles {
		b = append(b, make([]byte, 12)...)
		for _, p := range t {
			for _, x := range p {
				b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(x)))
			}
		}
		b = append(b, 0, 0)
	}
	return b
}

func TestBothFormatsGiveTheSame(t *testing.T) {
	fromText, err := mesh.ReadSTL(strings.NewReader(ascii(tetrahedron())))
	require.NoError(t, err)
	fromBytes, err := mesh.ReadSTL(bytes.NewReader(binarySTL(tetrahedron())))
	require.NoError(t, err)
	assert.Equal(t, mesh.Of(tetrahedron()), fromText)
	assert.Equal(t, mesh.Of(tetrahedron()), fromBytes)
	m := fromText.Measure(10)
	assert.InEpsilon(t, 1.5+math.Sqrt(3)/2, float64(m.Area), 1e-12)
	require.True(t, m.Closed)
	assert.InEpsilon(t, 1.0/6, *m.Volume, 1e-12)
}

func TestSurfacesThatAreNotClosed(t *testing.T) {
	whole := tetrahedron()
	turned := tetrahedron()
	turned[3][0], turned[3][1] = turned[3][1], turned[3][0]
	area := mesh.Of(whole).Measure(1).Area
	for name, triangles := range map[string][]mesh.Triangle{
		"one side turned": turned,
		"one side twice":  append(tetrahedron(), whole[3]),
	} {
		m := mesh.Of(triangles).Measure(1)
		assert.False(t, m.Closed, name)
		assert.Nil(t, m.Volume, name)
	}
	open := mesh.Of(whole[:3]).Measure(1)
	assert.False(t, open.Closed, "a side is missing")
	assert.Less(t, open.Area, area)
	flat := append(tetrahedron(), mesh.Triangle{{}, {1}, {1}})
	m := mesh.Of(flat).Measure(1)
	assert.True(t, m.Closed, "a triangle without area is dropped")
	assert.Equal(t, 4, m.Triangles)
}

// A surface inside out has the area and the volume of its part, and is said to be so.
func TestInvertedSurface(t *testing.T) {
	inside := tetrahedron()
	for i := range inside {
		inside[i][0], inside[i][1] = inside[i][1], inside[i][0]
	}
	m := mesh.Of(inside).Measure(1)
	assert.True(t, m.Inverted)
	want := mesh.Of(tetrahedron()).Measure(1)
	assert.False(t, want.Inverted)
	want.Inverted = true
	assert.Equal(t, want, m)
}

func TestRefusals(t *testing.T) {
	infinite := binarySTL(tetrahedron())
	binary.LittleEndian.PutUint32(infinite[84+12:], math.Float32bits(float32(math.Inf(1))))
	short := binarySTL(tetrahedron())
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty":           {nil, "no STL file"},
		"text":            {[]byte("hello"), "no STL file"},
		"cut off":         {short[:len(short)-1], "promises 4 triangles"},
		"not finite":      {infinite, "not finite"},
		"no triangle":     {[]byte("solid nothing\nendsolid nothing\n"), "no triangle"},
		"not a number":    {[]byte("solid\nvertex 1 2 x\n"), `line 2: vertex: "x" is not a number`},
		"two numbers":     {[]byte("solid\nvertex 1 2\n"), "a vertex has 2 numbers"},
		"infinite text":   {[]byte("solid\nvertex 1 2 inf\n"), "not finite"},
		"two corners":     {[]byte("solid\nvertex 1 2 3\nvertex 1 2 3\nendloop\n"), "line 4: a facet has 2 corners"},
		"ends in facet":   {[]byte("solid\nvertex 1 2 3\n"), "ends within a facet"},
		"another format":  {[]byte("solid\nmesh 1 2 3\n"), `unknown word "mesh"`},
		"no line ends":    {append([]byte("solid\n"), bytes.Repeat([]byte("a "), 1<<16)...), "line 2 is longer than 65536 bytes"},
		"words in digits": {[]byte("solid\nvertex 1 2 3.5.1\n"), `line 2: vertex: "3.5.1" is not a number`},
		"four numbers":    {[]byte("solid\nvertex 1 2 3 4\n"), "more than 3 numbers"},
	} {
		_, err := mesh.ReadSTL(bytes.NewReader(c.data))
		assert.ErrorContains(t, err, c.want, name)
	}
}

// A mesh that is moved keeps area and volume; one that is k times as large has k
// squared times the area.
func TestMeasureIsOfTheShapeAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-20, 20)
		move := mesh.Point{number.Draw(t, "x"), number.Draw(t, "y"), number.Draw(t, "z")}
		k := rapid.Float64Range(0.1, 30).Draw(t, "k")
		moved := tetrahedron()
		for i := range moved {
			for j := range moved[i] {
				for axis := range move {
					moved[i][j][axis] += move[axis]
				}
			}
		}
		m, plain := mesh.Of(moved).Measure(k), mesh.Of(tetrahedron()).Measure(1)
		if math.Abs(float64(m.Area)/float64(plain.Area)/k/k-1) > 1e-9 {
			t.Fatalf("area %v, want %v", m.Area, float64(plain.Area)*k*k)
		}
		if m.Closed && math.Abs(*m.Volume / *plain.Volume / k / k / k - 1) > 1e-6 {
			t.Fatalf("volume %v, want %v", *m.Volume, *plain.Volume*k*k*k)
		}
	})
}

func FuzzReadSTL(f *testing.F) {
	f.Add([]byte(ascii(tetrahedron())))
	f.Add(binarySTL(tetrahedron()))
	f.Add([]byte("solid\nvertex 1e400 0 0\nendloop"))
	f.Fuzz(func(t *testing.T, data []byte) {
		surface, err := mesh.ReadSTL(bytes.NewReader(data))
		if err != nil {
			return
		}
		m := surface.Measure(1)
		if m.Triangles > surface.Facets() || m.Area < 0 || m.Closed != (m.Volume != nil) {
			t.Fatalf("measured %+v from %d triangles", m, surface.Facets())
		}
	})
}
