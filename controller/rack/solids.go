package rack

import (
	"errors"
	"fmt"
	"math"

	"anodized/hal/unit"
	"anodized/profiles"
)

func ring(r profiles.Ring) ([]Surface, error) {
	outside, bore, height := float64(r.Outside), float64(r.Bore), float64(r.Height)
	if err := allPositive(dimension{"outside", r.Outside}, dimension{"bore", r.Bore}, dimension{"height", r.Height}); err != nil {
		return nil, err
	}
	if bore >= outside {
		return nil, fmt.Errorf("bore %g mm is not smaller than outside %g mm", bore, outside)
	}
	surfaces := []Surface{
		{"outside", toCM2(math.Pi * outside * height)},
		{"bore", toCM2(math.Pi * bore * height)},
		{"ends", toCM2(math.Pi / 2 * (outside*outside - bore*bore))},
	}
	wall := (outside - bore) / 2
	surfaces, err := withChamfers(surfaces, r, wall)
	if err != nil {
		return nil, err
	}
	return withHoles(surfaces, r.Holes, wall, math.Min(outside, height))
}

// withChamfers adds 45 degree chamfers on both outer edges: each takes a strip of
// the outside and of an end, and gives the cone between them.
func withChamfers(surfaces []Surface, r profiles.Ring, wall float64) ([]Surface, error) {
	c, outside, height := float64(r.Chamfer), float64(r.Outside), float64(r.Height)
	switch {
	case c == 0:
		return surfaces, nil
	case !(c > 0) || 2*c > height || c > wall:
		return nil, fmt.Errorf("chamfer %g mm does not fit: give more than 0 mm, at most half the height %g mm and the wall %g mm", c, height, wall)
	}
	each := -math.Pi*outside*c - math.Pi*(outside*c-c*c) + math.Pi*math.Sqrt2*c*(outside-c)
	return append(surfaces, Surface{"chamfers", toCM2(2 * each)}), nil
}

func plate(p profiles.Plate) ([]Surface, error) {
	if err := allPositive(dimension{"length", p.Length}, dimension{"width", p.Width}, dimension{"thickness", p.Thickness}); err != nil {
		return nil, err
	}
	l, w, t := float64(p.Length), float64(p.Width), float64(p.Thickness)
	surfaces := []Surface{{"faces", toCM2(2 * l * w)}, {"edges", toCM2(2 * (l + w) * t)}}
	return withHoles(surfaces, p.Holes, t, math.Min(l, w))
}

func cylinder(c profiles.Cylinder) ([]Surface, error) {
	if err := allPositive(dimension{"diameter", c.Diameter}, dimension{"height or thickness", c.Height}); err != nil {
		return nil, err
	}
	d, h := float64(c.Diameter), float64(c.Height)
	surfaces := []Surface{{"outside", toCM2(math.Pi * d * h)}, {"ends", toCM2(math.Pi * d * d / 2)}}
	return withHoles(surfaces, c.Holes, h, d)
}

func prism(p profiles.Prism) ([]Surface, error) {
	if _, err := positive("face area", float64(p.FaceAreaCM2), "cm²"); err != nil {
		return nil, err
	}
	if err := allPositive(dimension{"perimeter", p.Perimeter}, dimension{"length", p.Length}); err != nil {
		return nil, err
	}
	if least := 2 * math.Sqrt(math.Pi*float64(p.FaceAreaCM2)*mm2PerCM2); float64(p.Perimeter) < least*(1-1e-9) {
		return nil, fmt.Errorf("perimeter %g mm cannot enclose a face of %g cm²: a circle already needs %.4g mm", p.Perimeter, p.FaceAreaCM2, least)
	}
	surfaces := []Surface{
		{"sides", toCM2(float64(p.Perimeter) * float64(p.Length))},
		{"ends", 2 * p.FaceAreaCM2},
	}
	return withHoles(surfaces, p.Holes, 0, float64(p.Perimeter))
}

// withHoles adds through holes. Their depth is the shape's unless one is given;
// across is the width that no hole may exceed.
func withHoles(surfaces []Surface, holes []profiles.Hole, depth, across float64) ([]Surface, error) {
	total := 0.0
	for _, h := range holes {
		through, err := holeDepth(h, depth)
		if err != nil {
			return nil, fmt.Errorf("hole: %w", err)
		}
		if float64(h.Diameter) >= across {
			return nil, fmt.Errorf("hole: diameter %g mm is not smaller than the part, %g mm across", h.Diameter, across)
		}
		total += hole(h, through)
	}
	if len(holes) == 0 {
		return surfaces, nil
	}
	return append(surfaces, Surface{"holes", toCM2(total)}), nil
}

func holeDepth(h profiles.Hole, depth float64) (float64, error) {
	if err := allPositive(dimension{"diameter", h.Diameter}); err != nil {
		return 0, err
	}
	if h.Count < 1 {
		return 0, fmt.Errorf("count is %d: give 1 or more", h.Count)
	}
	if h.Depth != 0 {
		return float64(h.Depth), allPositive(dimension{"depth", h.Depth})
	}
	if depth == 0 {
		return 0, errors.New("give the depth that it goes through: this shape does not tell it")
	}
	return depth, nil
}

func toCM2(mm2 float64) unit.SquareCentimetres { return unit.SquareCentimetres(mm2 / mm2PerCM2) }
