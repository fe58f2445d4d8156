package plant

import (
	"math"
	"math/rand/v2"
)

// stream separates this package's random numbers from other uses of one seed.
const stream = 0x616e6f64697a6564

func generator(seed, use uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream^use)) }

type draw struct{ *rand.Rand }

func (d draw) between(low, high float64) float64 { return low + (high-low)*d.Float64() }

// decades draws evenly in the logarithm.
func (d draw) decades(low, high float64) float64 {
	return math.Exp(d.between(math.Log(low), math.Log(high)))
}

func (d draw) step(steps ...float64) float64 { return steps[d.IntN(len(steps))] }

// Draw gives the parameters of a bench that is far from what a controller may
// assume, wide on purpose: gains, offsets, leaks and side currents included.
func Draw(seed uint64) Parameters {
	d := draw{generator(seed, 1)}
	p := Default()
	p.Film = d.film()
	p.Film.Efficiency = d.between(0.6, 1)
	p.Film.SideCurrent = d.between(0, 0.5)
	p.Film.Dissolution = d.between(0, 0.2)
	p.Cell = Cell{LeadOhms: d.between(0.05, 1), BathOhms: d.between(0.5, 12)}
	if d.IntN(2) == 0 {
		p.Cell.LeakOhms = d.decades(300, 50e3)
	}
	p.Output.VoltStep = d.step(0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1)
	p.Output.Slew = d.decades(5, 500)
	p.Meter = d.meter()
	p.Bath = Bath{Litres: d.decades(1, 50), Resistance: d.decades(0.05, 1), Celsius: d.between(12, 32),
		Room: d.between(12, 32), Noise: 0.03, Step: 0.0625}
	return p
}

func (d draw) film() Film {
	sets := []func() Film{Titanium, Soft, Stiff, Rigid}
	f := sets[d.IntN(len(sets))]()
	f.B *= d.between(0.95, 1.05)
	f.Native = d.between(0.5, 7)
	return f
}

func (d draw) meter() Meter {
	return Meter{
		VoltGain: d.between(0.99, 1.01), VoltOffset: d.between(-0.05, 0.05), VoltNoise: d.between(0, 0.05),
		VoltStep:   d.step(0.001, 0.01, 0.02, 0.05, 0.1),
		AmpereGain: d.between(0.98, 1.02), AmpereOffset: d.between(-0.005, 0.005), AmpereNoise: d.between(0, 0.005),
		AmpereStep: d.step(0.0001, 0.001, 0.002, 0.005, 0.01), GasNoise: d.between(0, 0.03), Settle: d.between(0, 0.3),
	}
}

// DrawHealthy gives the parameters of a bench in good order with a rack of this
// area (cm²): the spread over which no run may trip. The film's constants lie
// between the soft and the stiff set.
func DrawHealthy(seed uint64, area float64) Parameters {
	d := draw{generator(seed, 2)}
	p := Default()
	p.Film = d.between3(Soft(), Titanium(), Stiff())
	p.Film.Efficiency = d.between(0.6, 1)
	p.Film.HighEfficiency = p.Film.Efficiency
	p.Film.SideCurrent = 0
	p.Film.Native = d.between(0.5, 7)
	series := d.between(1, 10) * 200 / area
	p.Cell = Cell{LeadOhms: 0.04 * series, BathOhms: 0.96 * series}
	p.Output.Slew = d.decades(5, 500)
	p.Meter = Meter{VoltGain: 1, VoltNoise: 0.01, VoltStep: d.step(0.01, 0.02, 0.05, 0.1), AmpereGain: 1,
		AmpereNoise: 0.0005, AmpereStep: d.step(0.001, 0.002, 0.005, 0.01),
		GasNoise: d.between(0.001, 0.01), Settle: d.between(0, 0.3)}
	celsius := d.between(15, 30)
	p.Bath = Bath{Litres: 5, Resistance: 0.2, Celsius: celsius, Room: celsius, Noise: 0.03, Step: 0.0625}
	return p
}

// between3 draws one of three laws, or one between two neighbours.
func (d draw) between3(soft, middle, stiff Film) Film {
	place := d.Float64() * 2
	if d.IntN(2) == 0 {
		place = math.Round(place)
	}
	low, high := soft, middle
	if place > 1 {
		low, high, place = middle, stiff, place-1
	}
	low.I0 = math.Exp(math.Log(low.I0) + place*(math.Log(high.I0)-math.Log(low.I0)))
	low.B += place * (high.B - low.B)
	return low
}
