package campaign

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"anodized/controller/colour"
	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/hal/virtual/plant"
	"anodized/profiles"
)

// Case is one load to run.
type Case struct {
	Seed    uint64
	Request plan.Request
	Setup   virtual.Setup
	Tick    time.Duration
	Jitter  float64 // share of a tick by which it may be late

	Block     Block
	Injection *Injection    // nil: in good order
	Second    *Injection    // of a run with two faults
	First     string        // the line of the timetable that the first of them is; eventFirst: none, "": it is in the rack or the request
	Late      []Late        // what the timetable does not know
	WallClock time.Duration // of the computer, from what it should be
	NoRecord  noRecord
	Chaos     *Chaos // disorder
	Replayed  bool   // the rows are kept and replayed
}

// stream keeps the draws of a case apart from the plant's own.
const stream = 0x6c6f6164

type draw struct{ *rand.Rand }

func (d draw) between(low, high float64) float64 { return low + (high-low)*d.Float64() }

func (d draw) decades(low, high float64) float64 {
	return math.Exp(d.between(math.Log(low), math.Log(high)))
}

// Spread says how far the controller's knowledge may be from the plant.
type Spread struct {
	OwnCalibration bool // the calibration and the declared area are the plant's own
}

// Healthy draws a load on a bench in good order: 1 to 24 parts, 5 to 2,000 cm², a
// target of 8 to 110 V, a ramp of 0.2 to 2 V/s, a limit of 1 to 10 mA/cm², film
// constants from soft to stiff, an efficiency of 0.6 to 1, a calibration up to 5 %
// and an area up to 10 % wrong, ticks of 100 or 200 ms up to 30 % late; every second
// bench has a contactor and an emergency stop.
func Healthy(seed uint64, surface *colour.Surface, s Spread) Case {
	d := draw{rand.New(rand.NewPCG(seed, stream))}
	area, parts := d.decades(5, 2000), 1+d.IntN(24)
	parameters := plant.DrawHealthy(seed, area)
	c := Case{Seed: seed, Tick: time.Duration(100*(1+d.IntN(2))) * time.Millisecond, Jitter: d.between(0, 0.3)}
	c.Setup = virtual.Setup{Seed: seed, Parameters: &parameters, Tick: c.Tick, HighestVolts: 120,
		HighestAmperes: unit.Amperes(0.012 * area),
		Parts:          []virtual.Part{{Area: unit.SquareCentimetres(area / float64(parts)), Count: parts}}}
	c.Setup.Chain = seed%2 == 0
	declared, wrong := area*d.between(0.9, 1.1), d.between(0.95, 1.05)
	if s.OwnCalibration {
		declared, wrong = area, 1
	}
	c.Request = request(d, &parameters, declared, parts, wrong)
	c.Request.Surface = surface
	if !s.OwnCalibration {
		c.knows(draw{rand.New(rand.NewPCG(seed, stream+6))})
	}
	d.readable(&parameters, c.Request.Profile.End.CurrentDensity.At(unit.SquareCentimetres(declared)))
	return c
}

// readable keeps the steps of the readings fine enough for the end: a coarser one
// is refused before anything is energised, which is another case.
func (d draw) readable(p *plant.Parameters, end unit.Amperes) {
	for p.Meter.AmpereStep > float64(end)/5 {
		p.Meter.AmpereStep /= 2
		p.Meter.AmpereNoise /= 2
	}
	p.Output.AmpereStep = math.Min(p.Output.AmpereStep, p.Meter.AmpereStep)
}

// request is what the shop believes of this bench. The current limit carries the
// ramp in most draws and sets the pace in the others.
func request(d draw, p *plant.Parameters, declared float64, parts int, wrong float64) plan.Request {
	end := unit.CurrentDensity(0.15)
	b := p.Film.B * (1 + p.Film.Thermal*(p.Bath.Celsius-20)) // at the temperature of this bath
	metal := profiles.Metal{ID: "titanium-grade-5", Name: "drawn titanium", Density: 4.43, NativeFilm: 1.5,
		Growth: profiles.Growth{I0: p.Film.I0, B: b, MolarMass: 79.866, Electrons: 4, OxideGCM3: 3.90, Efficiency: p.Film.Efficiency}}
	truth := 1e7 * b / math.Log1p(float64(end)*1e-3/p.Film.I0)
	if wrong != 1 {
		metal.Growth.I0, metal.Growth.B = 6e-14, 4.5e-6
	}
	return plan.Request{
		Profile: profiles.Profile{Name: fmt.Sprintf("drawn for %.0f cm2", declared), Metal: metal.ID, Bath: "bicarbonate",
			Target: profiles.Target{Volts: unit.Volts(d.between(8, 110))}, Ramp: unit.VoltsPerSecond(d.decades(0.2, 2)),
			CurrentDensity: unit.CurrentDensity(d.decades(1, 10)), End: profiles.End{CurrentDensity: end, Sustained: 5}},
		Rack: profiles.Rack{Name: "drawn rack", Parts: []profiles.Part{{Name: "headset spacer", Count: parts, Wetted: 1, Roughness: 1,
			Shape: profiles.Shape{Area: unit.SquareCentimetres(declared / float64(parts))}}}},
		Metal: metal,
		Bath: profiles.Bath{ID: "bicarbonate", Name: "bicarbonate", Series: 3, Litres: 5,
			Temperature: unit.Celsius(p.Bath.Celsius), LeastTemp: 5, MostTemp: 40},
		Calibration: profiles.Calibration{ID: "drawn", Metal: metal.ID, Bath: "bicarbonate", NMPerVolt: truth * wrong,
			EndCurrentDensity: end, Simulated: true, Provenance: "SIMULATED, drawn"},
		Simulated: true,
	}
}
