package plant

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// foreignVolts is where a metal that grows no film begins to make gas (V): 1.23 V
// reversible splitting of water and some overvoltage (from memory).
const foreignVolts = 1.8

// Plant is one bath with its parts, its supply's output stage and its meter. It
// is not safe for concurrent use.
type Plant struct {
	Faults

	parameters Parameters
	parts      []Part
	member     []int // group of each part
	groups     []group

	target, limit float64 // what the supply was told: V, A
	switched      bool    // the output is told to be on
	ramp          float64 // V, the setpoint on its way
	parted        bool    // the contactor between supply and cell is open
	cell          float64 // V across the cell while it is
	now           point
	tried         float64 // V, the node voltage of the last solution in full

	seconds, charge, throughFilms float64
	celsius                       float64
	softness, series, side        float64 // follow from parameters and temperature
	leak, foreign                 float64 // S

	meter       meter
	thermometer thermometer
	random      *rand.Rand
}

// Faults are the plant's misbehaviours that are a plain value. Their rest values
// are those of [NoFaults].
type Faults struct {
	SetGain          float64 // true volts per volt of setpoint
	Held             float64 // share of the setpoint that the output can hold; 0: a mains dip
	LimitIgnored     bool    // the current limit does nothing
	StuckOn          bool    // the output stays on whatever it is told
	EfficiencyFactor float64 // on the share of charge that makes film
	Dissolving       float64 // nm/s beside the parameters' own
	SeriesFactor     float64 // on the series resistance
	ReadVoltGain     float64 // on the reading of volts
	ReadAmpereGain   float64 // on the reading of amperes
	ReadAmpereOffset float64 // A on the reading of amperes
	NoiseFactor      float64 // on the slow current noise
}

// NoFaults is a plant in good order.
func NoFaults() Faults {
	return Faults{SetGain: 1, Held: 1, EfficiencyFactor: 1, SeriesFactor: 1, ReadVoltGain: 1, ReadAmpereGain: 1,
		NoiseFactor: 1}
}

// New hangs parts in a bath. The seed is for the noise of the readings.
func New(parameters Parameters, parts []Part, seed uint64) (*Plant, error) {
	if err := check(parameters, parts); err != nil {
		return nil, err
	}
	p := &Plant{Faults: NoFaults(), parameters: parameters, random: generator(seed, 0)}
	p.meter = newMeter(parameters.Meter)
	p.thermometer = thermometer{at: -1, random: generator(seed, 3)}
	p.celsius = parameters.Bath.Celsius
	p.side = parameters.Film.SideCurrent / 1000
	p.parts = append([]Part(nil), parts...)
	p.Hang()
	p.Bypass(0, 0, 0)
	p.Recompute()
	return p, nil
}

func check(parameters Parameters, parts []Part) error {
	for i, part := range parts {
		if !(part.Area > 0) || math.IsInf(part.Area, 1) || !(part.Film >= 0) || math.IsInf(part.Film, 1) {
			return fmt.Errorf("part %d: area %v cm² and film %v nm: an area above zero and a film not below it are needed",
				i+1, part.Area, part.Film)
		}
	}
	f, o, b := parameters.Film, parameters.Output, parameters.Bath
	for _, must := range []struct {
		name  string
		value float64
	}{
		{"i0", f.I0}, {"B", f.B}, {"film per charge", f.KF}, {"efficiency", f.Efficiency}, {"native film", f.Native},
		{"slew", o.Slew}, {"output capacitance", o.Farads}, {"bleed", o.BleedOhms}, {"litres", b.Litres},
		{"thermal resistance", b.Resistance}, {"volt gain", parameters.Meter.VoltGain},
		{"ampere gain", parameters.Meter.AmpereGain},
	} {
		if !(must.value > 0) || math.IsInf(must.value, 1) {
			return fmt.Errorf("%s of %v: it must be above zero and finite", must.name, must.value)
		}
	}
	return nil
}

// Hang takes the parts out and hangs new ones like them: the films are as at the
// start. The output should be off.
func (p *Plant) Hang() {
	p.groups, p.member = p.groups[:0], p.member[:0]
	for _, part := range p.parts {
		if part.Film == 0 {
			part.Film = p.parameters.Film.Native
		}
		p.member = append(p.member, p.join(group{each: part.Area, film: max(part.Film, leastFilm)}))
	}
}

// join adds one part to a group of its like, or makes one.
func (p *Plant) join(one group) int {
	for i := range p.groups {
		g := &p.groups[i]
		if g.each == one.each && g.film == one.film && g.open == one.open && g.contact == one.contact {
			g.area += one.each
			return i
		}
	}
	one.area = one.each
	p.groups = append(p.groups, one)
	return len(p.groups) - 1
}

// Advance moves to a time (s). It returns early, with true, as soon as the
// terminals of a switched output have reached stop volts.
func (p *Plant) Advance(to, stop float64) bool {
	for p.seconds < to {
		left := to - p.seconds
		h := p.nextStep(left)
		p.step(h)
		if h == left {
			p.seconds = to
		}
		if p.powered() && p.now.volts >= stop {
			return true
		}
	}
	return false
}
