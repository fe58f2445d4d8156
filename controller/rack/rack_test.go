package rack_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/rack"
	"anodized/hal/unit"
	"anodized/profiles"
)

const grade5 = 4.43 // g/cm³, data sheets of Ti-6Al-4V: 4.42 to 4.43

func spacer() profiles.Shape {
	return profiles.Shape{Ring: &profiles.Ring{Outside: 34, Bore: 28.6, Height: 10}}
}

// clamp is an extruded seat clamp; face and perimeter computed independently from
// its circles, slit and lugs.
func clamp() profiles.Shape {
	return profiles.Shape{Prism: &profiles.Prism{
		FaceAreaCM2: 5.69762, Perimeter: 282.235, Length: 14,
		Holes: []profiles.Hole{{Diameter: 5.2, Depth: 8, Count: 2}},
	}}
}

func hooks(count int) []profiles.Fixture {
	return []profiles.Fixture{{Wire: &profiles.Wire{Diameter: 1.6, WettedLength: 60, Count: count}}}
}

func of(count int, shape profiles.Shape) profiles.Part {
	return profiles.Part{Name: "part", Count: count, Shape: shape, Wetted: 1, Roughness: 1}
}

// The wanted areas were computed independently, by hand from the formulas of
// solid geometry, for parts of our own drawing.
func TestAreaOfOnePart(t *testing.T) {
	chamfered := spacer()
	chamfered.Ring.Chamfer = 0.5
	vented := spacer()
	vented.Ring.Holes = []profiles.Hole{{Diameter: 4, Count: 4}}
	for name, c := range map[string]struct {
		shape  profiles.Shape
		want   float64
		method rack.Method
	}{
		"W1 headset spacer":          {spacer(), 24.9763, rack.ByRing},
		"W1 with chamfers":           {chamfered, 24.3441, rack.ByRing},
		"W2 with four vents":         {vented, 25.3281, rack.ByRing},
		"W2 from its mass":           {profiles.Shape{Mass: &profiles.Mass{Each: 11.16, Thickness: 2.7, Height: 10}}, 23.6988, rack.ByMass},
		"W3 seat clamp":              {clamp(), 52.6725, rack.ByPrism},
		"the clamp's band, as tube":  {profiles.Shape{Tube: &profiles.Ring{Outside: 41.9, Bore: 34.9, Height: 14}}, 42.2230, rack.ByTube},
		"plate 20 x 10 x 1":          {profiles.Shape{Plate: &profiles.Plate{Length: 20, Width: 10, Thickness: 1}}, 4.6, rack.ByPlate},
		"plate with a hole":          {profiles.Shape{Plate: &profiles.Plate{Length: 20, Width: 10, Thickness: 1, Holes: []profiles.Hole{{Diameter: 5, Count: 1}}}}, 4.6 + (math.Pi*5-math.Pi*12.5)/100, rack.ByPlate},
		"cylinder 10 x 20":           {profiles.Shape{Cylinder: &profiles.Cylinder{Diameter: 10, Height: 20}}, 2.5 * math.Pi, rack.ByCylinder},
		"disc 20 x 2":                {profiles.Shape{Disc: &profiles.Cylinder{Diameter: 20, Height: 2}}, 2.4 * math.Pi, rack.ByDisc},
		"sheet from its mass":        {profiles.Shape{Mass: &profiles.Mass{Each: 4.43, Thickness: 1}}, 20, rack.ByMass},
		"mass with its own density":  {profiles.Shape{Mass: &profiles.Mass{Each: 8.57, Thickness: 1, Density: 8.57}}, 20, rack.ByMass},
		"area that was given":        {profiles.Shape{Area: 52.67}, 52.67, rack.Given},
		"mesh that was measured":     {profiles.Shape{Mesh: "clamp.stl", Area: 52.6}, 52.6, rack.ByMesh},
		"a large hole loses surface": {profiles.Shape{Plate: &profiles.Plate{Length: 50, Width: 50, Thickness: 1, Holes: []profiles.Hole{{Diameter: 40, Count: 1}}}}, 50 + 2 - (math.Pi*800-math.Pi*40)/100, rack.ByPlate},
	} {
		t.Run(name, func(t *testing.T) {
			result, err := rack.Area(profiles.Rack{Name: "one", Parts: []profiles.Part{of(1, c.shape)}}, grade5)
			require.NoError(t, err)
			assert.InEpsilon(t, c.want, float64(result.Parts[0].Each), 1e-4)
			assert.Equal(t, c.method, result.Parts[0].Method)
			assert.Equal(t, result.Parts[0].Each, result.Total)
		})
	}
}

func TestAreaOfWholeRacks(t *testing.T) {
	for name, c := range map[string]struct {
		rack  profiles.Rack
		want  float64
		count int
	}{
		"W4 six spacers on hooks": {profiles.Rack{Name: "W4", Parts: []profiles.Part{of(6, spacer())}, Fixture: hooks(6)}, 168.07, 6},
		"W5 clamps and spacers":   {profiles.Rack{Name: "W5", Parts: []profiles.Part{of(2, clamp()), of(4, spacer())}}, 205.25, 6},
		"eight spacers":           {profiles.Rack{Name: "eight", Parts: []profiles.Part{of(8, spacer())}}, 199.81, 8},
	} {
		t.Run(name, func(t *testing.T) {
			result, err := rack.Area(c.rack, grade5)
			require.NoError(t, err)
			assert.InEpsilon(t, c.want, float64(result.Total), 1e-4)
			assert.Equal(t, c.count, result.Count)
		})
	}
}

func TestSurfacesOfARing(t *testing.T) {
	result, err := rack.Area(profiles.Rack{Name: "one", Parts: []profiles.Part{of(8, spacer())}}, 0)
	require.NoError(t, err)
	want := []rack.Surface{{Name: "outside", Area: 10.6814}, {Name: "bore", Area: 8.9850}, {Name: "ends", Area: 5.3099}}
	require.Len(t, result.Parts[0].Surfaces, len(want))
	for i, surface := range result.Parts[0].Surfaces {
		assert.Equal(t, want[i].Name, surface.Name)
		assert.InEpsilon(t, float64(want[i].Area), float64(surface.Area), 1e-4)
	}
	share := result.Parts[0].Surfaces[1].Area / result.Parts[0].Each
	assert.InDelta(t, 0.36, float64(share), 0.005, "a forgotten bore is more than a third of a spacer")
}

func TestLargestSmallestAndFixture(t *testing.T) {
	result, err := rack.Area(profiles.Rack{
		Name: "mixed", Parts: []profiles.Part{of(4, spacer()), of(2, clamp())},
		Fixture: append(hooks(6), profiles.Fixture{Name: "frame", Area: 3}),
	}, grade5)
	require.NoError(t, err)
	assert.InEpsilon(t, 24.976, float64(result.Smallest), 1e-4)
	assert.InEpsilon(t, 52.6725, float64(result.Largest), 1e-4)
	assert.InEpsilon(t, 6*3.03604+3, float64(result.Fixture), 1e-4)
	assert.Less(t, float64(result.Uncertainty), float64(result.Total)*0.02)
}

func TestWettedShareAndRoughness(t *testing.T) {
	part := of(1, profiles.Shape{Area: 10})
	part.Wetted, part.Roughness = 0.8, 1.5
	result, err := rack.Area(profiles.Rack{Name: "blasted", Parts: []profiles.Part{part}}, 0)
	require.NoError(t, err)
	assert.InDelta(t, 12, float64(result.Total), 1e-12)
	assert.InDelta(t, 12*(0.05+0.5/3), float64(result.Uncertainty), 1e-12, "half of what the roughness adds is uncertain")
	part.Wetted, part.Roughness = 0, 0
	result, err = rack.Area(profiles.Rack{Name: "plain", Parts: []profiles.Part{part}}, 0)
	require.NoError(t, err)
	assert.Equal(t, unit.SquareCentimetres(10), result.Total, "factors that were not given are 1")
}
