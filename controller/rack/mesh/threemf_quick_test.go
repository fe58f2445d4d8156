package mesh

import (
	"bufio"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func modelOf(t *testing.T, vertices, triangles string) *object {
	t.Helper()
	m, err := readModel(bufio.NewReader(strings.NewReader("<model><resources><object id='1'><mesh><vertices>" + vertices +
		"</vertices><triangles>" + triangles + "</triangles></mesh></object></resources></model>")))
	require.NoError(t, err)
	return m.objects["1"]
}

// However an element is written, it is read as the XML reader reads it, which takes those
// that are closed by a tag of their own.
func TestElementsAreReadAlike(t *testing.T) {
	vertices := []string{
		`<vertex x="1" y="-2.5" z="3e-1"/>`, `<vertex z='3' x='1.25' y='2' />`, "\n\t<vertex\n x=\"1\"\n y=\"2\" z=\"3\"\n/>",
		`<vertex x="1&#46;5" y="2" z="3"/>`, `<vertex x="1" y="2" z="3" note="a > b"/>`, `<vertex note="/" x="1" y="2" z="0.1234567890123456789"/>`,
		`<vertex p:x="9" x="1" y="2" z="3" xmlns:p="p"/>`, "<vertex x=\"1\" y=\"2\" z=\"3\" note=\"\u00e9\"/>", `<!-- <vertex x="7" y="7" z="7"/> --><vertex x = "1" y="2" z="3"/>`,
		`<vertex x="+1" y="2." z=".5"/>`, `<m:vertex xmlns:m="m" x="1" y="2" z="3"/>`, `text<vertex x="1" y="2" z="3"/>`, `<vertex x="1e400" y="2" z="-0"/>`,
	}
	triangles := []string{`<triangle v1="0" v2="1" v3="2"/>`, `<triangle v3='2' v1='0' pid="1" p1="0" p2="0" p3="1" v2='+1'/>`, `<triangle v1="0" v2="1" v3="-2" v4="7"/>`}
	slow := func(all []string) string {
		var b strings.Builder
		for _, one := range all {
			if head, is := strings.CutSuffix(one, "/>"); is {
				name := "vertex"
				switch {
				case strings.Contains(one, "<m:"):
					name = "m:vertex"
				case strings.Contains(one, "<triangle"):
					name = "triangle"
				}
				one = head + "></" + name + ">"
			}
			b.WriteString(one)
		}
		return b.String()
	}
	vertices = append(vertices[:len(vertices)-1:len(vertices)-1], `<vertex x="1" y="2" z="-0"/>`)
	want := modelOf(t, slow(vertices), slow(triangles))
	got := modelOf(t, strings.Join(vertices, ""), strings.Join(triangles, ""))
	require.Len(t, got.corners, len(vertices))
	assert.Equal(t, want.corners, got.corners)
	assert.Equal(t, want.facets, got.facets)
}

func TestWhatIsWrongWithAnElementIsSaid(t *testing.T) {
	good := strings.Repeat("<vertex x=\"1\" y=\"2\" z=\"3\"/>\n", 5)
	for text, want := range map[string]string{
		good + `<vertex x="1" y="2"/>`:                     `its z, "", is not a number`,
		good + `<vertex x="1" y="2" z="3" y="2" z=3/>`:     "line 6",
		good + `<vertex x="1" y="2,5" z="3"/>`:             `its y, "2,5", is not a number`,
		good + `<vertex x="1" y="2" z="3"`:                 "line 6",
		good + `<triangle v1="0" v2="1" v3="3000000000"/>`: `"3000000000", is no number of a vertex`,
	} {
		_, err := readModel(bufio.NewReader(strings.NewReader("<model><resources><object id='1'><mesh><vertices>" + text + "</vertices></mesh></object></resources></model>")))
		assert.ErrorContains(t, err, want)
	}
}
