package campaign

import (
	"fmt"
	"math"
	"math/rand/v2"

	"anodized/controller/colour"
	"anodized/controller/journal"
	"anodized/hal/unit"
	"anodized/hal/virtual/plant"
	"anodized/profiles"
)

// World is one bath with its metal that the controller knows from a book only: growth
// constants up to a fifth from the usual, colours by other optical tables. SIMULATED.
type World struct {
	Seed        uint64
	Film, Metal string // the tables that its colours are made with

	d          draw
	parameters plant.Parameters
	series     float64 // ohm of bath and leads for 200 cm²
	surface    *colour.Surface
	runs       uint64
	shop       *journal.Journal // with its loads
	violations []Violation      // of all loads
}

const (
	loopStream   = stream + 7
	readingNoise = 0.4 // CIELAB an axis, of a colour instrument
	usualEnd     = 0.15
	partArea     = 24.976 // cm², of a headset spacer of the embedded racks
)

// loopTables are what the colours of the worlds are made with; the controller's own pair
// is TiO2-Jolivet-amorphous on Ti-Johnson.
var loopTables = [2][]string{{"TiO2-Siefke", "TiO2-Franta", "TiO2-Sarkar"}, {"Ti-Johnson", "Ti-Mash", "Ti-Rakic-BB"}}

// NewWorld draws a world: nanometres a volt and softness at the usual end, film for a
// charge, side current, native film and rise with the temperature each up to 20 % from
// [plant.Titanium], efficiency 0.76 to 1, bath 19 to 23 °C
// at the ladder, and a bench in good order. Its loads go to a journal.
func NewWorld(seed uint64, shop *journal.Journal) (*World, error) {
	w := &World{Seed: seed, shop: shop, d: draw{rand.New(rand.NewPCG(seed, loopStream))}}
	w.Film, w.Metal = loopTables[0][seed%3], loopTables[1][seed/3%3]
	w.parameters = plant.DrawHealthy(seed, 8*partArea)
	w.parameters.Film = w.film()
	w.series = w.d.between(1, 10)
	w.parameters.Bath.Celsius = w.d.between(19.2, 23)
	var err error
	if w.surface, err = surfaceOf(w.Film, w.Metal, 1); err != nil {
		return nil, fmt.Errorf("world %d: %w", seed, err)
	}
	return w, nil
}

func (w *World) film() plant.Film {
	f, fifth := plant.Titanium(), func() float64 { return w.d.between(0.8, 1.2) }
	usual := math.Log1p(usualEnd * 1e-3 / f.I0)
	softness := usual * fifth()
	f.I0 = usualEnd * 1e-3 / math.Expm1(softness)
	f.B *= softness / usual * fifth()
	f.KF, f.SideCurrent, f.Native, f.Thermal = f.KF*fifth(), f.SideCurrent*fifth(), f.Native*fifth(), f.Thermal*fifth()
	f.Efficiency = w.d.between(0.76, 1)
	f.HighEfficiency = f.Efficiency
	return f
}

// rackOf is how many parts the racks of a world have.
const rackOf = 8

// meter fits the steps of the ammeter to the end of a rack of some area.
func (w *World) meter(p *plant.Parameters, area float64) {
	w.d.readable(p, unit.CurrentDensity(usualEnd).At(unit.SquareCentimetres(area/2)))
}

// stepsToEnd is how many steps of the ammeter the end current of a rack is.
func (w *World) stepsToEnd() float64 {
	p := w.parameters
	w.meter(&p, rackOf*partArea)
	return float64(unit.CurrentDensity(usualEnd).At(rackOf*partArea)) / p.Meter.AmpereStep
}

func surfaceOf(film, metal string, scale float64) (*colour.Surface, error) {
	oxide, err := profiles.OpticalConstants(film)
	if err != nil {
		return nil, err
	}
	substrate, err := profiles.OpticalConstants(metal)
	if err != nil {
		return nil, err
	}
	light, err := profiles.Illuminant("D65")
	if err != nil {
		return nil, err
	}
	return colour.NewSurface(oxide, substrate, profiles.Observer(), light, colour.Options{IndexScale: scale})
}

// read is the colour of a film as an instrument reads it, the mean of so many readings.
func (w *World) read(film unit.Nanometres, readings int) colour.Lab {
	noise := func() float64 { return readingNoise / math.Sqrt(float64(readings)) * w.d.NormFloat64() }
	lab := w.surface.Lab(film)
	return colour.Lab{L: lab.L + noise(), A: lab.A + noise(), B: lab.B + noise()}
}
