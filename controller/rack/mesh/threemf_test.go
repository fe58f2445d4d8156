package mesh_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/rack/mesh"
)

const tetrahedronXML = `<object id="1" type="model"><mesh><vertices>
<vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/><vertex x="0" y="0" z="1"/>
</vertices><triangles>
<triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/>
</triangles></mesh></object>`

func model(unit, objects, items string) string {
	return fmt.Sprintf(`<?xml version="1.0" encoding="UTF-8"?>
<model unit="%s" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources>%s</resources><build>%s</build></model>`, unit, objects, items)
}

func packed(t testing.TB, files map[string]string) []byte {
	var b bytes.Buffer
	archive := zip.NewWriter(&b)
	for name, content := range files {
		file, err := archive.Create(name)
		require.NoError(t, err)
		_, err = file.Write([]byte(content))
		require.NoError(t, err)
	}
	require.NoError(t, archive.Close())
	return b.Bytes()
}

func read3MF(data []byte) (*mesh.Surface, float64, error) {
	return mesh.Read3MF(bytes.NewReader(data), int64(len(data)))
}

func TestTetrahedronIn3MF(t *testing.T) {
	plain := mesh.Of(tetrahedron()).Measure(1)
	pair := tetrahedronXML + `<object id="2" type="model"><components>
<component objectid="1"/><component objectid="1" transform="1 0 0 0 1 0 0 0 1 5 0 0"/></components></object>`
	for name, c := range map[string]struct {
		unit, objects, items string
		times                float64 // the plain area, in mm
	}{
		"as it is":        {"millimeter", tetrahedronXML, `<item objectid="1"/>`, 1},
		"in inches":       {"inch", tetrahedronXML, `<item objectid="1"/>`, 25.4 * 25.4},
		"no unit":         {"", tetrahedronXML, `<item objectid="1"/>`, 1},
		"twice as large":  {"millimeter", tetrahedronXML, `<item objectid="1" transform="2 0 0 0 2 0 0 0 2 1 2 3"/>`, 4},
		"mirrored":        {"millimeter", tetrahedronXML, `<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>`, 1},
		"two items":       {"millimeter", tetrahedronXML, `<item objectid="1"/><item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 9 0"/>`, 2},
		"two components":  {"millimeter", pair, `<item objectid="2"/>`, 2},
		"scaled assembly": {"micron", pair, `<item objectid="2" transform="0 3 0 -3 0 0 0 0 3 0 0 0"/>`, 2 * 9 * 1e-6},
	} {
		surface, millimetres, err := read3MF(packed(t, map[string]string{"3D/3dmodel.model": model(c.unit, c.objects, c.items)}))
		require.NoError(t, err, name)
		m := surface.Measure(millimetres)
		assert.InEpsilon(t, c.times*float64(plain.Area), float64(m.Area), 1e-9, name)
		assert.True(t, m.Closed, name)
	}
}

func TestRefusalsOf3MF(t *testing.T) {
	loop := `<object id="1"><components><component objectid="1"/></components></object>`
	bomb := strings.Builder{}
	bomb.WriteString(tetrahedronXML)
	for id := 2; id < 10; id++ {
		fmt.Fprintf(&bomb, `<object id="%d"><components>%s</components></object>`, id, strings.Repeat(fmt.Sprintf(`<component objectid="%d"/>`, id-1), 20))
	}
	for name, c := range map[string]struct {
		files map[string]string
		want  string
	}{
		"no model":     {map[string]string{"a.txt": ""}, "no model part"},
		"two models":   {map[string]string{"a.model": "", "b.model": ""}, "more than one"},
		"no XML":       {map[string]string{"a.model": "{}"}, "read the model"},
		"unit":         {map[string]string{"a.model": model("mile", "", "")}, `"mile"`},
		"nothing":      {map[string]string{"a.model": model("inch", tetrahedronXML, "")}, "no triangle"},
		"no object":    {map[string]string{"a.model": model("inch", tetrahedronXML, `<item objectid="7"/>`)}, `object "7"`},
		"within":       {map[string]string{"a.model": model("inch", loop, `<item objectid="1"/>`)}, "holds itself"},
		"too many":     {map[string]string{"a.model": model("inch", bomb.String(), `<item objectid="9"/>`)}, "triangles: export"},
		"vertex":       {map[string]string{"a.model": model("inch", strings.Replace(tetrahedronXML, `v1="1"`, `v1="4"`, 1), `<item objectid="1"/>`)}, "vertex 4"},
		"transform":    {map[string]string{"a.model": model("inch", tetrahedronXML, `<item objectid="1" transform="1 2"/>`)}, "12"},
		"not a number": {map[string]string{"a.model": model("inch", tetrahedronXML, `<item objectid="1" transform="a 0 0 0 1 0 0 0 1 0 0 0"/>`)}, "not a number"},
		"not finite":   {map[string]string{"a.model": model("inch", tetrahedronXML, `<item objectid="1" transform="nan 0 0 0 1 0 0 0 1 0 0 0"/>`)}, "not finite"},
	} {
		_, _, err := read3MF(packed(t, c.files))
		assert.ErrorContains(t, err, c.want, name)
	}
	_, _, err := read3MF([]byte("solid"))
	assert.ErrorContains(t, err, "no 3MF file")
}

func FuzzModel(f *testing.F) {
	f.Add(model("inch", tetrahedronXML, `<item objectid="1"/>`))
	f.Add(model("", "", ""))
	f.Fuzz(func(t *testing.T, text string) {
		surface, millimetres, err := read3MF(packed(t, map[string]string{"3dmodel.model": text}))
		if err == nil && (surface.Facets() == 0 || !(millimetres > 0)) {
			t.Fatalf("%d triangles of %v mm", surface.Facets(), millimetres)
		}
	})
}

// FuzzRead3MF: whatever the bytes of the container are.
func FuzzRead3MF(f *testing.F) {
	whole := packed(f, map[string]string{"3D/3dmodel.model": model("inch", tetrahedronXML, `<item objectid="1"/>`)})
	f.Add(whole)
	f.Add(whole[:len(whole)/2])
	f.Add([]byte("PK\x05\x06"))
	f.Fuzz(func(t *testing.T, data []byte) {
		surface, millimetres, err := read3MF(data)
		if err == nil && (surface.Facets() == 0 || !(millimetres > 0)) {
			t.Fatalf("%d triangles of %v mm", surface.Facets(), millimetres)
		}
	})
}

func BenchmarkMillionTrianglesOf3MF(b *testing.B) {
	numbers := map[mesh.Point]int{}
	var vertices, triangles strings.Builder
	for _, t := range ball(50, 500) { // 998,000
		var of [3]int
		for i, p := range t {
			n, known := numbers[p]
			if !known {
				n = len(numbers)
				numbers[p] = n
				fmt.Fprintf(&vertices, "<vertex x=\"%.6f\" y=\"%.6f\" z=\"%.6f\" />\n", p[0], p[1], p[2])
			}
			of[i] = n
		}
		fmt.Fprintf(&triangles, "<triangle v1=\"%d\" v2=\"%d\" v3=\"%d\" />\n", of[0], of[1], of[2])
	}
	object := `<object id="1"><mesh><vertices>` + vertices.String() + "</vertices><triangles>" + triangles.String() + "</triangles></mesh></object>"
	data := packed(b, map[string]string{"3D/3dmodel.model": model("millimeter", object, `<item objectid="1"/>`)})
	b.ReportAllocs()
	for b.Loop() {
		surface, millimetres, err := mesh.Read3MF(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			b.Fatal(err)
		}
		if m := surface.Measure(millimetres); !m.Closed {
			b.Fatal(m.Flaws)
		}
	}
}
