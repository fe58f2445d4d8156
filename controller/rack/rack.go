package rack

import (
	"errors"
	"fmt"
	"math"

	"anodized/hal/unit"
	"anodized/profiles"
)

// Result is the wetted area of a rack.
type Result struct {
	Parts       []PartArea             `json:"parts"`
	Count       int                    `json:"parts_count"` // how many single parts hang
	Fixture     unit.SquareCentimetres `json:"fixture_cm2"`
	Total       unit.SquareCentimetres `json:"total_cm2"` // parts and fixture
	Uncertainty unit.SquareCentimetres `json:"uncertainty_cm2"`
	Largest     unit.SquareCentimetres `json:"largest_part_cm2"`
	Smallest    unit.SquareCentimetres `json:"smallest_part_cm2"`
	Masked      unit.SquareCentimetres `json:"masked_cm2"`             // of all parts, in no total
	Coloured    unit.SquareCentimetres `json:"coloured_cm2,omitempty"` // by earlier stages, in no total: it draws nothing
}

// PartArea is the wetted area of a number of like parts.
type PartArea struct {
	Name        string                 `json:"name"`
	Count       int                    `json:"count"`
	Each        unit.SquareCentimetres `json:"each_cm2"` // exposed to the bath
	Method      Method                 `json:"method"`
	Uncertainty unit.SquareCentimetres `json:"each_uncertainty_cm2"`
	Surfaces    []Surface              `json:"surfaces,omitempty"` // what each kind of surface gives, before wetted fraction and roughness
	Wetted      float64                `json:"wetted_fraction"`
	Roughness   float64                `json:"roughness_factor"`
	Masked      unit.SquareCentimetres `json:"masked_each_cm2,omitempty"` // likewise before both
	Masks       []MaskArea             `json:"masks,omitempty"`
}

// Surface is the contribution of one kind of surface of a part. A hole may take
// more than it gives.
type Surface struct {
	Name string                 `json:"name"`
	Area unit.SquareCentimetres `json:"area_cm2"`
}

// Area returns the wetted area of a rack. The density, in g/cm³, is that of the
// parts' metal; it is needed only where a part is given by its mass without a
// density of its own, and may be 0 where it is not known.
func Area(r profiles.Rack, density float64) (Result, error) {
	var result Result
	if len(r.Parts) == 0 {
		return Result{}, fmt.Errorf("rack %q has no parts: name at least one", r.Name)
	}
	spread := 0.0 // sum of squares: groups of parts are wrong independently
	for _, part := range r.Parts {
		area, err := partArea(part, density)
		if err != nil {
			return Result{}, fmt.Errorf("rack %q, part %q: %w", r.Name, part.Name, err)
		}
		result.add(area)
		spread += square(float64(area.Count) * float64(area.Uncertainty)) // like parts are wrong alike
	}
	fixture, err := fixtureArea(r.Fixture)
	if err != nil {
		return Result{}, fmt.Errorf("rack %q, fixture %w", r.Name, err)
	}
	result.Fixture = fixture
	result.Total += fixture
	for _, coloured := range r.Coloured {
		result.Coloured += coloured.Area
	}
	result.Uncertainty = unit.SquareCentimetres(math.Sqrt(spread + square(fixtureUncertainty*float64(fixture))))
	return result, nil
}

func (r *Result) add(area PartArea) {
	if len(r.Parts) == 0 || area.Each < r.Smallest {
		r.Smallest = area.Each
	}
	r.Largest = max(r.Largest, area.Each)
	r.Parts = append(r.Parts, area)
	r.Count += area.Count
	r.Masked += unit.SquareCentimetres(float64(area.Count) * float64(area.Masked) * area.Wetted * area.Roughness)
	r.Total += unit.SquareCentimetres(area.Count) * area.Each
}

func partArea(part profiles.Part, density float64) (PartArea, error) {
	area := PartArea{Name: part.Name, Count: part.Count, Wetted: orOne(part.Wetted), Roughness: orOne(part.Roughness)}
	if err := checkPart(area); err != nil {
		return PartArea{}, err
	}
	method, surfaces, err := measure(part.Shape, density)
	if err != nil {
		return PartArea{}, err
	}
	whole := sum(surfaces)
	if !(whole > 0) || math.IsInf(whole, 0) {
		return PartArea{}, fmt.Errorf("%s: the surface comes to %.4g cm²: check the dimensions and the holes", method, whole)
	}
	area.Method, area.Surfaces = method, surfaces
	masks, under, err := masked(part.Masks, surfaces)
	if err != nil {
		return PartArea{}, err
	}
	reached := area.Wetted * area.Roughness
	area.Masks, area.Masked = masks, unit.SquareCentimetres(under)
	area.Each = unit.SquareCentimetres((whole - under) * reached)
	area.Uncertainty = unit.SquareCentimetres(float64(area.Each)*relative(method, area.Roughness) + maskUncertainty*under*reached)
	return area, nil
}

func checkPart(area PartArea) error {
	switch {
	case area.Count < 1:
		return fmt.Errorf("count is %d: at least 1 must hang", area.Count)
	case !(area.Wetted > 0 && area.Wetted <= 1):
		return fmt.Errorf("wetted fraction is %g: give a share above 0 and up to 1", area.Wetted)
	case !(area.Roughness >= 1 && area.Roughness <= 5):
		return fmt.Errorf("roughness factor is %g: give 1 (smooth) to 5", area.Roughness)
	}
	return nil
}

func fixtureArea(fixtures []profiles.Fixture) (unit.SquareCentimetres, error) {
	total := 0.0
	for i, fixture := range fixtures {
		area, err := oneFixture(fixture)
		if err != nil {
			return 0, fmt.Errorf("%d %q: %w", i+1, fixture.Name, err)
		}
		total += area
	}
	return unit.SquareCentimetres(total), nil
}

func oneFixture(fixture profiles.Fixture) (float64, error) {
	wire := fixture.Wire
	switch {
	case wire == nil && fixture.Area == 0:
		return 0, errors.New("give a wire or an area")
	case wire != nil && fixture.Area != 0:
		return 0, errors.New("give either a wire or an area, not both")
	case wire == nil:
		return positive("area", float64(fixture.Area), "cm²")
	case wire.Count < 1:
		return 0, fmt.Errorf("wire: count is %d: give 1 or more", wire.Count)
	}
	if err := allPositive(dimension{"diameter", wire.Diameter}, dimension{"wetted length", wire.WettedLength}); err != nil {
		return 0, fmt.Errorf("wire: %w", err)
	}
	d, l := float64(wire.Diameter), float64(wire.WettedLength)
	return float64(wire.Count) * (math.Pi*d*l + math.Pi*d*d/4) / mm2PerCM2, nil
}
