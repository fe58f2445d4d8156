package rack_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/controller/rack"
	"anodized/profiles"
)

func TestRefusals(t *testing.T) {
	nan := math.NaN()
	wide, thick, halfWet, polished := spacer(), spacer(), of(1, spacer()), of(1, spacer())
	wide.Ring.Bore = 34
	thick.Ring.Chamfer = 3
	halfWet.Wetted, polished.Roughness = 1.2, 0.5
	for name, c := range map[string]struct {
		parts   []profiles.Part
		fixture []profiles.Fixture
		want    string
	}{
		"no parts":            {nil, nil, "no parts"},
		"no shape":            {[]profiles.Part{of(1, profiles.Shape{})}, nil, "exactly one shape"},
		"two shapes":          {[]profiles.Part{of(1, profiles.Shape{Ring: spacer().Ring, Area: 3})}, nil, "exactly one shape"},
		"count":               {[]profiles.Part{of(0, spacer())}, nil, "count is 0"},
		"bore":                {[]profiles.Part{of(1, wide)}, nil, "bore 34 mm is not smaller"},
		"chamfer":             {[]profiles.Part{of(1, thick)}, nil, "chamfer 3 mm does not fit"},
		"wetted":              {[]profiles.Part{halfWet}, nil, "wetted fraction is 1.2"},
		"roughness":           {[]profiles.Part{polished}, nil, "roughness factor is 0.5"},
		"negative area":       {[]profiles.Part{of(1, profiles.Shape{Area: -2})}, nil, "area is -2 cm²"},
		"not a number":        {[]profiles.Part{of(1, profiles.Shape{Cylinder: &profiles.Cylinder{Diameter: 4, Height: 1}}), of(1, profiles.Shape{Plate: &profiles.Plate{Length: 1, Width: 2}})}, nil, "thickness is 0 mm"},
		"mesh unmeasured":     {[]profiles.Part{of(1, profiles.Shape{Mesh: "clamp.stl"})}, nil, "give the result as area"},
		"mass, no density":    {[]profiles.Part{of(1, profiles.Shape{Mass: &profiles.Mass{Each: 3, Thickness: 1}})}, nil, "no density is known"},
		"hole without depth":  {[]profiles.Part{of(1, profiles.Shape{Prism: &profiles.Prism{FaceAreaCM2: 1, Perimeter: 40, Length: 4, Holes: []profiles.Hole{{Diameter: 1, Count: 1}}}})}, nil, "give the depth"},
		"hole wider than all": {[]profiles.Part{of(1, profiles.Shape{Plate: &profiles.Plate{Length: 9, Width: 4, Thickness: 1, Holes: []profiles.Hole{{Diameter: 4, Count: 1}}}})}, nil, "not smaller than the part"},
		"more hole than part": {[]profiles.Part{of(1, profiles.Shape{Plate: &profiles.Plate{Length: 9, Width: 4, Thickness: 1, Holes: []profiles.Hole{{Diameter: 3.9, Count: 50}}}})}, nil, "check the dimensions and the holes"},
		"short perimeter":     {[]profiles.Part{of(1, profiles.Shape{Prism: &profiles.Prism{FaceAreaCM2: 1, Perimeter: 30, Length: 4}})}, nil, "cannot enclose"},
		"fixture empty":       {[]profiles.Part{of(1, spacer())}, []profiles.Fixture{{Name: "hook"}}, `fixture 1 "hook": give a wire or an area`},
		"fixture both":        {[]profiles.Part{of(1, spacer())}, []profiles.Fixture{{Wire: &profiles.Wire{Diameter: 1, WettedLength: 1, Count: 1}, Area: 2}}, "not both"},
		"wire count":          {[]profiles.Part{of(1, spacer())}, []profiles.Fixture{{Wire: &profiles.Wire{Diameter: 1, WettedLength: 1}}}, "count is 0"},
		"wire length":         {[]profiles.Part{of(1, spacer())}, []profiles.Fixture{{Wire: &profiles.Wire{Diameter: 1, Count: 1}}}, "wetted length is 0 mm"},
		"fixture not finite":  {[]profiles.Part{of(1, spacer())}, []profiles.Fixture{{Area: -1}}, "area is -1 cm²"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := rack.Area(profiles.Rack{Name: "shop", Parts: c.parts, Fixture: c.fixture}, 0)
			assert.ErrorContains(t, err, c.want)
			assert.ErrorContains(t, err, `rack "shop"`)
		})
	}
	_, err := rack.Area(profiles.Rack{Name: "nan", Parts: []profiles.Part{of(1, profiles.Shape{Mass: &profiles.Mass{Each: 3, Thickness: 1}})}}, nan)
	assert.ErrorContains(t, err, "density is NaN")
}
