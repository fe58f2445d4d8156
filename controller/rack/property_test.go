package rack_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"anodized/controller/rack"
	_ "anodized/hal/haltest/draw" // the same cases on each run
	"anodized/hal/unit"
	"anodized/profiles"
)

func drawRing(t *rapid.T) profiles.Ring {
	outside := rapid.Float64Range(2, 200).Draw(t, "outside")
	bore := outside * rapid.Float64Range(0.1, 0.98).Draw(t, "bore share")
	return profiles.Ring{
		Outside: unit.Millimetres(outside), Bore: unit.Millimetres(bore),
		Height: unit.Millimetres(rapid.Float64Range(0.5, 200).Draw(t, "height")),
	}
}

func areaOf(t *rapid.T, shape profiles.Shape, density float64) float64 {
	result, err := rack.Area(profiles.Rack{Name: "drawn", Parts: []profiles.Part{of(1, shape)}}, density)
	if err != nil {
		t.Fatal(err)
	}
	return float64(result.Total)
}

func near(t *rapid.T, want, got float64) {
	if math.Abs(want-got) > 1e-9*math.Abs(want) {
		t.Fatalf("want %v, got %v", want, got)
	}
}

// The area of a ring is 2 V (1/t + 1/h) exactly, so its mass gives the same area.
func TestRingFromShapeAndFromMass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRing(t)
		density := rapid.Float64Range(1, 20).Draw(t, "density")
		volume := math.Pi / 4 * (float64(r.Outside*r.Outside) - float64(r.Bore*r.Bore)) * float64(r.Height)
		wall := float64(r.Outside-r.Bore) / 2
		area := areaOf(t, profiles.Shape{Ring: &r}, 0)
		near(t, 2*volume*(1/wall+1/float64(r.Height))/100, area)
		weighed := profiles.Mass{Each: unit.Grams(volume / 1000 * density), Thickness: unit.Millimetres(wall), Height: r.Height}
		near(t, area, areaOf(t, profiles.Shape{Mass: &weighed}, density))
	})
}

// A part k times as large has k squared times the surface, holes and chamfers too.
func TestAreaScalesBySquare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRing(t)
		wall := (r.Outside - r.Bore) / 2
		r.Chamfer = 0.3 * min(r.Height, wall)
		r.Holes = []profiles.Hole{{Diameter: 0.1 * min(r.Height, wall), Count: 3}}
		k := unit.Millimetres(rapid.Float64Range(0.2, 5).Draw(t, "k"))
		large := profiles.Ring{Outside: k * r.Outside, Bore: k * r.Bore, Height: k * r.Height, Chamfer: k * r.Chamfer,
			Holes: []profiles.Hole{{Diameter: k * r.Holes[0].Diameter, Count: 3}}}
		near(t, float64(k*k)*areaOf(t, profiles.Shape{Ring: &r}, 0), areaOf(t, profiles.Shape{Ring: &large}, 0))
	})
}

// A rack is the sum of its parts, in whatever order they hang.
func TestRackIsTheSumOfItsParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var parts []profiles.Part
		want, n := 0.0, 0
		for range rapid.IntRange(1, 5).Draw(t, "groups") {
			r := drawRing(t)
			count := rapid.IntRange(1, 30).Draw(t, "count")
			parts = append(parts, of(count, profiles.Shape{Ring: &r}))
			want += float64(count) * areaOf(t, profiles.Shape{Ring: &r}, 0)
			n += count
		}
		result, err := rack.Area(profiles.Rack{Name: "sum", Parts: parts}, 0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, want, float64(result.Total))
		if result.Count != n || result.Smallest > result.Largest || !(result.Uncertainty > 0) {
			t.Fatalf("count %d, smallest %v, largest %v, uncertainty %v", result.Count, result.Smallest, result.Largest, result.Uncertainty)
		}
	})
}
