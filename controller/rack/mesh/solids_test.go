package mesh_test

import (
	"bytes"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/rack/mesh"
)

// ringOf is a ring whose outside and bore are each inscribed in so many facets.
func ringOf(outside, bore, height float64, facets int) []mesh.Triangle {
	at := func(radius, z float64, i int) mesh.Point {
		angle := 2 * math.Pi * float64(i%facets) / float64(facets)
		return mesh.Point{radius * math.Cos(angle), radius * math.Sin(angle), z}
	}
	var all []mesh.Triangle
	quad := func(a, b, c, d mesh.Point) { all = append(all, mesh.Triangle{a, b, c}, mesh.Triangle{a, c, d}) }
	big, small := outside/2, bore/2
	for i := range facets {
		quad(at(big, 0, i), at(big, 0, i+1), at(big, height, i+1), at(big, height, i))
		quad(at(small, 0, i+1), at(small, 0, i), at(small, height, i), at(small, height, i+1))
		quad(at(small, height, i), at(big, height, i), at(big, height, i+1), at(small, height, i+1))
		quad(at(big, 0, i), at(small, 0, i), at(small, 0, i+1), at(big, 0, i+1))
	}
	return all
}

// ball is a sphere of so many rows of twice as many facets.
func ball(radius float64, rows int) []mesh.Triangle {
	at := func(row, column int) mesh.Point {
		if row == 0 || row == rows {
			return mesh.Point{0, 0, math.Copysign(radius, float64(rows-2*row))}
		}
		polar, round := math.Pi*float64(row)/float64(rows), math.Pi*float64(column%(2*rows))/float64(rows)
		return mesh.Point{radius * math.Sin(polar) * math.Cos(round), radius * math.Sin(polar) * math.Sin(round), radius * math.Cos(polar)}
	}
	var all []mesh.Triangle
	for row := range rows {
		for column := range 2 * rows {
			a, b, c, d := at(row, column), at(row+1, column), at(row+1, column+1), at(row, column+1)
			if row < rows-1 {
				all = append(all, mesh.Triangle{a, b, c})
			}
			if row > 0 {
				all = append(all, mesh.Triangle{a, c, d})
			}
		}
	}
	return all
}

// chamfered is a cylinder with a chamfer of 45 degrees at its top.
func chamfered(radius, height, chamfer float64, facets int) []mesh.Triangle {
	outline := [][2]float64{{0, 0}, {radius, 0}, {radius, height - chamfer}, {radius - chamfer, height}, {0, height}}
	at := func(k, i int) mesh.Point {
		angle := 2 * math.Pi * float64(i%facets) / float64(facets)
		return mesh.Point{outline[k][0] * math.Cos(angle), outline[k][0] * math.Sin(angle), outline[k][1]}
	}
	var all []mesh.Triangle
	for k := range len(outline) - 1 {
		for i := range facets {
			a, b, c, d := at(k, i), at(k, i+1), at(k+1, i+1), at(k+1, i)
			if a != b {
				all = append(all, mesh.Triangle{a, b, c})
			}
			if c != d {
				all = append(all, mesh.Triangle{a, c, d})
			}
		}
	}
	return all
}

// Areas and volumes by the formulas of solid geometry. What inscribed facets lose of the
// headset spacer, -0.47, -0.07 and -0.01 %, was computed independently.
func TestSolidsOfFacets(t *testing.T) {
	const spacer = math.Pi*(34+28.6)*10 + math.Pi/2*(34*34-28.6*28.6)
	cone := math.Pi * math.Sqrt2 * 2 * (10 + 8)
	for name, c := range map[string]struct {
		triangles   []mesh.Triangle
		area        float64 // of the true solid, mm2
		short       float64 // of it, in per cent; 0: not known from elsewhere
		volumeShare float64
	}{
		"spacer of 24 facets":  {ringOf(34, 28.6, 10, 24), spacer, 0.47, 0.02},
		"spacer of 64 facets":  {ringOf(34, 28.6, 10, 64), spacer, 0.07, 0.002},
		"spacer of 180 facets": {ringOf(34, 28.6, 10, 180), spacer, 0.01, 0.001},
		"ball of 40 rows":      {ball(10, 40), 400 * math.Pi, 0, 0},
		"chamfered cylinder":   {chamfered(10, 20, 2, 48), 2*math.Pi*10*18 + 100*math.Pi + 64*math.Pi + cone, 0, 0},
		"tetrahedron":          {tetrahedron(), 1.5 + math.Sqrt(3)/2, 0, 0},
	} {
		m := mesh.Of(c.triangles).Measure(1)
		assert.Truef(t, m.Closed, "%s: %+v", name, m.Flaws)
		assert.Falsef(t, m.Inverted, "%s", name)
		lost := c.area - 100*float64(m.Area)
		assert.InDeltaf(t, lost, 100*float64(m.Shortfall), 0.05*lost+1e-9, "%s: estimated, and lost", name)
		if c.short > 0 {
			assert.InDeltaf(t, c.short, 100*lost/c.area, 0.005, "%s", name)
			assert.InEpsilonf(t, 2.65496, *m.Volume, c.volumeShare, "%s", name)
		}
	}
}

func TestFlaws(t *testing.T) {
	spacer := func() []mesh.Triangle { return ringOf(34, 28.6, 10, 64) }
	sound := mesh.Of(spacer()).Measure(1)
	require.Equal(t, mesh.Flaws{}, sound.Flaws)
	turn := func(s []mesh.Triangle, which ...int) []mesh.Triangle {
		for _, i := range which {
			s[i][1], s[i][2] = s[i][2], s[i][1]
		}
		return s
	}
	twice := append(spacer(), spacer()[7], spacer()[7], mesh.Triangle{spacer()[9][1], spacer()[9][2], spacer()[9][0]})
	for name, c := range map[string]struct {
		triangles []mesh.Triangle
		flaws     mesh.Flaws
	}{
		"three facets twice":   {twice, mesh.Flaws{Duplicates: 3, Crowded: 6}},
		"two facets turned":    {turn(spacer(), 3, 100), mesh.Flaws{Turned: 2}},
		"most facets turned":   {turn(turn(spacer(), all(spacer())...), 5), mesh.Flaws{Turned: 1}},
		"a facet is missing":   {spacer()[1:], mesh.Flaws{Open: 3}},
		"a wall without thick": {append(spacer(), mesh.Triangle{spacer()[0][0], spacer()[0][2], {0, 0, 5}}), mesh.Flaws{Open: 2, Crowded: 1}},
	} {
		m := mesh.Of(c.triangles).Measure(1)
		assert.Equal(t, c.flaws, m.Flaws, name)
		assert.False(t, m.Closed, name)
		assert.Nil(t, m.Volume, name)
		if c.flaws.Open == 0 {
			assert.InEpsilon(t, float64(sound.Area), float64(m.Area), 1e-12, "%s: the bath wets each place once", name)
		}
	}
}

func all(of []mesh.Triangle) []int {
	numbers := make([]int, len(of))
	for i := range numbers {
		numbers[i] = i
	}
	return numbers
}

// Programs that write each corner anew, rounded, leave hair-fine cracks.
func TestCornersThatAreNearlyOne(t *testing.T) {
	spacer := ringOf(34, 28.6, 10, 64)
	for i := range spacer {
		for k := range spacer[i] {
			spacer[i][k][0] += 1e-6 * math.Sin(float64(3*i+k))
		}
	}
	m := mesh.Of(spacer).Measure(1)
	require.True(t, m.Closed, "%+v", m.Flaws)
	apart := ringOf(34, 28.6, 10, 64)
	apart[17][1][2] += 0.01
	assert.False(t, mesh.Of(apart).Measure(1).Closed, "a crack of 10 um is one")
}

// A hub with thousands of spokes, as a program draws a disc.
func TestDiscOfManySpokes(t *testing.T) {
	m := mesh.Of(chamfered(10, 20, 2, 20000)).Measure(1)
	assert.True(t, m.Closed)
}

func BenchmarkMillionTriangles(b *testing.B) {
	triangles := ball(50, 500) // 998,000
	binary, text := binarySTL(triangles), []byte(ascii(triangles))
	cracked := append([]byte{}, binary...)
	cracked = append(cracked[:len(cracked)-50:len(cracked)-50], binary[84:134]...) // one facet missing, one twice
	for name, data := range map[string][]byte{"binary": binary, "not closed": cracked, "text": text} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				surface, err := mesh.ReadSTL(bytes.NewReader(data))
				if err != nil {
					b.Fatal(err)
				}
				m := surface.Measure(1)
				b.ReportMetric(float64(m.Triangles), "triangles")
			}
		})
	}
}
