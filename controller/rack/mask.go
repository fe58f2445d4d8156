package rack

import (
	"fmt"
	"math"
	"strings"

	"anodized/hal/unit"
	"anodized/profiles"
)

// MaskArea is what one mask covers of one part.
type MaskArea struct {
	Name string                 `json:"name"`
	Area unit.SquareCentimetres `json:"area_cm2"`
}

// maskUncertainty is how well the area under a mask is known, of itself: tape and lacquer
// are cut and painted by hand. Our choice, no source.
const maskUncertainty = 0.10

// masked returns what each mask of a part covers of its surfaces, before wetted fraction
// and roughness, and all of them together. Something must stay bare.
func masked(masks []profiles.Mask, surfaces []Surface) (all []MaskArea, total float64, err error) {
	whole := sum(surfaces)
	for _, m := range masks {
		area, err := maskArea(m, surfaces, whole)
		if err != nil {
			return nil, 0, fmt.Errorf("mask %q: %w", m.Name, err)
		}
		all = append(all, MaskArea{m.Name, unit.SquareCentimetres(area)})
		total += area
	}
	if total >= whole*(1-1e-9) && len(masks) > 0 {
		return nil, 0, fmt.Errorf("its masks cover %.4g cm² of a surface of %.4g cm²: something must stay bare", total, whole)
	}
	return all, total, nil
}

func maskArea(m profiles.Mask, surfaces []Surface, whole float64) (float64, error) {
	given := 0
	for _, is := range []bool{m.Share != 0, m.Mesh != "" || m.Area != 0, len(m.Surfaces) > 0} {
		if is {
			given++
		}
	}
	switch {
	case given != 1:
		return 0, fmt.Errorf("give exactly one of: share, area, surfaces, mesh")
	case m.Mesh != "" && m.Area == 0:
		return 0, fmt.Errorf("the file %q was not measured: measure it with the command area --mesh and give the result as area", m.Mesh)
	case len(m.Surfaces) > 0:
		return namedSurfaces(m.Surfaces, surfaces)
	case m.Share != 0:
		if !(m.Share > 0 && m.Share < 1) {
			return 0, fmt.Errorf("share is %g: give more than 0 and less than 1", m.Share)
		}
		return m.Share * whole, nil
	}
	return positive("area", float64(m.Area), "cm²")
}

func namedSurfaces(names []string, surfaces []Surface) (float64, error) {
	total := 0.0
	for _, name := range names {
		found := math.NaN()
		var known []string
		for _, s := range surfaces {
			known = append(known, s.Name)
			if s.Name == name {
				found = float64(s.Area)
			}
		}
		if math.IsNaN(found) {
			return 0, fmt.Errorf("the part has no surface %q: it has %s", name, strings.Join(known, ", "))
		}
		total += found
	}
	return positive("area of its surfaces", total, "cm²")
}
