package rack

import (
	"errors"
	"fmt"
	"math"

	"anodized/hal/unit"
	"anodized/profiles"
)

const (
	mm2PerCM2 = 100.0
	mm3PerCM3 = 1000.0
)

// measure returns how a shape was measured and its surfaces in cm².
func measure(shape profiles.Shape, density float64) (Method, []Surface, error) {
	method, surfaces, err := dispatch(shape, density)
	if err != nil && method != "" {
		err = fmt.Errorf("%s: %w", method, err)
	}
	return method, surfaces, err
}

func dispatch(shape profiles.Shape, density float64) (Method, []Surface, error) {
	switch {
	case count(shape) != 1:
		return "", nil, errors.New("give exactly one shape: ring, tube, plate, cylinder, disc, prism, area, mesh or mass")
	case shape.Ring != nil:
		return with(ByRing)(ring(*shape.Ring))
	case shape.Tube != nil:
		return with(ByTube)(ring(*shape.Tube))
	case shape.Plate != nil:
		return with(ByPlate)(plate(*shape.Plate))
	case shape.Cylinder != nil:
		return with(ByCylinder)(cylinder(*shape.Cylinder))
	case shape.Disc != nil:
		return with(ByDisc)(cylinder(*shape.Disc))
	case shape.Prism != nil:
		return with(ByPrism)(prism(*shape.Prism))
	case shape.Mass != nil:
		return with(ByMass)(mass(*shape.Mass, density))
	case shape.Mesh != "":
		return with(ByMesh)(mesh(shape))
	default:
		return with(Given)(given(float64(shape.Area)))
	}
}

func with(method Method) func([]Surface, error) (Method, []Surface, error) {
	return func(surfaces []Surface, err error) (Method, []Surface, error) { return method, surfaces, err }
}

// count tells how many shapes were given. A mesh that was measured carries its
// area beside its path and counts once.
func count(s profiles.Shape) int {
	n := 0
	for _, present := range []bool{s.Ring != nil, s.Tube != nil, s.Plate != nil, s.Cylinder != nil, s.Disc != nil,
		s.Prism != nil, s.Mass != nil, s.Mesh != "" || s.Area != 0} {
		if present {
			n++
		}
	}
	return n
}

func given(area float64) ([]Surface, error) {
	_, err := positive("area", area, "cm²")
	return []Surface{{"surface", unit.SquareCentimetres(area)}}, err
}

func mesh(shape profiles.Shape) ([]Surface, error) {
	if shape.Area == 0 {
		return nil, fmt.Errorf("the file %q was not measured: measure it with the command area --mesh and give the result as area", shape.Mesh)
	}
	return given(float64(shape.Area))
}

// mass measures a part of even wall by its volume: 2 V (1/t + 1/h) is exact for a
// plain ring; a sheet is both its faces, without edges.
func mass(m profiles.Mass, density float64) ([]Surface, error) {
	if m.Density != 0 {
		density = m.Density
	}
	if density == 0 {
		return nil, errors.New("no density is known: name the metal, or give the density with the mass")
	}
	if _, err := positive("density", density, "g/cm³"); err != nil {
		return nil, err
	}
	if _, err := positive("mass of each", float64(m.Each), "g"); err != nil {
		return nil, err
	}
	if err := allPositive(dimension{"thickness", m.Thickness}); err != nil {
		return nil, err
	}
	volume := float64(m.Each) / density * mm3PerCM3
	surfaces := []Surface{{"faces", toCM2(2 * volume / float64(m.Thickness))}}
	if m.Height == 0 {
		return surfaces, nil
	}
	if err := allPositive(dimension{"height", m.Height}); err != nil {
		return nil, err
	}
	return append(surfaces, Surface{"ends", toCM2(2 * volume / float64(m.Height))}), nil
}

// hole adds the wall of a through hole and takes its two mouths away.
func hole(h profiles.Hole, depth float64) float64 {
	d := float64(h.Diameter)
	return float64(h.Count) * (math.Pi*d*depth - math.Pi*d*d/2)
}
