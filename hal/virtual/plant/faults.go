package plant

import "math"

// All stands for every part where a part is asked for.
const All = -1

// SetContact opens or closes the contact of a part (0-based, or All).
func (p *Plant) SetContact(part int, closed bool) {
	p.each(part, func(g *group) { g.open = !closed })
}

// SetContactOhms puts a resistance in series with a part.
func (p *Plant) SetContactOhms(part int, ohms float64) {
	p.each(part, func(g *group) { g.contact = max(0, ohms) })
}

// SetFilm gives a part a film (nm) that it already carries.
func (p *Plant) SetFilm(part int, nm float64) {
	p.each(part, func(g *group) { g.film = max(nm, leastFilm) })
}

// FormedFilm says how thick (nm) the film of a part is that was formed to some
// volts and ended at 0.15 mA/cm².
func FormedFilm(f Film) func(volts float64) float64 {
	perVolt := f.B * nmPerCm / math.Log1p(0.15e-3/f.I0)
	return func(volts float64) float64 { return perVolt * volts }
}

// SetFormed gives a part the film of an earlier run to these volts.
func (p *Plant) SetFormed(part int, volts float64) {
	p.SetFilm(part, FormedFilm(p.parameters.Film)(volts))
}

// each changes a part, or all. A part that leaves its like gets a group of its own.
func (p *Plant) each(part int, change func(*group)) {
	if part == All {
		for i := range p.groups {
			change(&p.groups[i])
		}
	} else if part >= 0 && part < len(p.member) {
		change(&p.groups[p.alone(part)])
	}
	p.Recompute()
}

func (p *Plant) alone(part int) int {
	i := p.member[part]
	g := &p.groups[i]
	if g.area == g.each {
		return i
	}
	g.area -= g.each
	one := *g
	one.area = one.each
	p.groups = append(p.groups, one)
	p.member[part] = len(p.groups) - 1
	return p.member[part]
}

// Bypass puts resistors beside the parameters' own leak: a leak and a short (ohm,
// 0 for none), and a metal that grows no film (ohm behind 1.8 V, 0 for none).
func (p *Plant) Bypass(leak, short, foreign float64) {
	p.leak = conductance(p.parameters.Cell.LeakOhms) + conductance(leak) + conductance(short)
	p.foreign = conductance(foreign)
	p.Recompute()
}

func conductance(ohms float64) float64 {
	if ohms <= 0 {
		return 0
	}
	return 1 / max(ohms, voidOhms)
}

// SetBath gives the bath another temperature (°C).
func (p *Plant) SetBath(celsius float64) {
	p.celsius = celsius
	p.Recompute()
}
