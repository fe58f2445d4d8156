package faults

import (
	"context"

	"anodized/controller/colour"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/hal/virtual/plant"
	"anodized/profiles"
)

// spacerParts are eight headset spacers of 25 cm² each.
func spacerParts() []virtual.Part { return []virtual.Part{{Area: 25, Count: 8}} }

// spacerRequest is a load of the rack of spacers, whose law is that of the virtual bath.
func spacerRequest(film *colour.Surface, target unit.Volts, ramp unit.VoltsPerSecond, end unit.CurrentDensity) plan.Request {
	p := plant.Default()
	return plan.Request{
		Profile: profiles.Profile{Name: "spacers", Metal: "titanium-grade-5", Bath: "bicarbonate", Target: profiles.Target{Volts: target}, Ramp: ramp,
			CurrentDensity: 10, End: profiles.End{CurrentDensity: end, Sustained: 5}},
		Rack: profiles.Rack{Name: "eight headset spacers", Parts: []profiles.Part{{Name: "headset spacer", Count: 8, Wetted: 1, Roughness: 1,
			Shape: profiles.Shape{Area: 25}}}},
		Metal: profiles.Metal{ID: "titanium-grade-5", Name: "titanium", Density: 4.43, NativeFilm: unit.Nanometres(p.Film.Native),
			Growth: profiles.Growth{I0: p.Film.I0, B: p.Film.B, MolarMass: 79.866, Electrons: 4, OxideGCM3: 3.90, Efficiency: p.Film.Efficiency}},
		Bath: profiles.Bath{ID: "bicarbonate", Name: "bicarbonate", Series: 3, Litres: 5, Temperature: 20, LeastTemp: 5, MostTemp: 40},
		Calibration: profiles.Calibration{ID: "bench", Metal: "titanium-grade-5", Bath: "bicarbonate", NMPerVolt: 1.97,
			EndCurrentDensity: end, Simulated: true, Provenance: "SIMULATED"},
		Simulated: true, Surface: film,
	}
}

// shelf keeps counts of a record, and no more.
type shelf struct{ rows int }

func (s *shelf) Begin(context.Context, record.Intent) (string, error) { return "1", nil }
func (s *shelf) Append(record.Row)                                    { s.rows++ }
func (s *shelf) Note(record.Event)                                    {}
func (s *shelf) Finish(context.Context, record.Result) error          { return nil }
