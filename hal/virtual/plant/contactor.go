package plant

import "math"

// bleedOhms lies across the cell while the contactor is open, by its normally-closed
// contact.
const bleedOhms = 1000

// permittivity of the oxide: 27 (the upper end of what is published) times that of
// the vacuum (F/cm).
const permittivity = 27 * 8.854e-14

// Part opens or closes the contactor between supply and cell. Open, the supply's meter
// shows the supply alone, and the films run down through the bleed resistor.
func (p *Plant) Part(open bool) {
	if p.parted == open {
		return
	}
	p.parted = open
	if open {
		p.cell = p.now.volts
		p.now = point{volts: p.now.volts}
		p.rest()
	}
	p.Recompute()
}

// unloaded is the supply without a load for h seconds.
func (p *Plant) unloaded(h float64) {
	from, q := p.now, point{}
	if p.powered() {
		p.ramp = p.slewed(h)
		q.volts = p.held(p.ramp)
	} else {
		q.volts = from.volts * math.Exp(-h/(p.parameters.Output.Farads*p.parameters.Output.BleedOhms))
		p.ramp = q.volts
	}
	p.rest()
	p.slopes()
	for i := range p.groups {
		g := &p.groups[i]
		g.film = max(leastFilm, g.film+h*g.slope)
	}
	p.cell *= math.Exp(-h / (bleedOhms * p.farads()))
	p.now = q
	p.meter.follow(from, q, h)
	p.warm(h)
	p.seconds += h
}

// farads is the capacity of all films that have contact, and at least a little, of the leads.
func (p *Plant) farads() float64 {
	sum := 1e-9
	for i := range p.groups {
		if g := &p.groups[i]; !g.open {
			sum += permittivity * g.area / (g.film / nmPerCm)
		}
	}
	return sum
}

// CellVolts is the true voltage across the cell (V), on whichever side of the contactor
// the supply is.
func (p *Plant) CellVolts() float64 {
	if p.parted {
		return p.cell
	}
	return p.now.volts
}
