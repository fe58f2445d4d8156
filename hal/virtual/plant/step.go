package plant

import "math"

const (
	longestStep  = 0.1   // s
	shortestStep = 2e-5  // s
	perTimeConst = 0.2   // of the films' shortest time constant
	drainStep    = 0.005 // s, while the output capacitance empties
)

// slewed is the supply's setpoint h seconds from now, on its way to the target.
func (p *Plant) slewed(h float64) float64 {
	way := p.aim() - p.ramp
	most := p.parameters.Output.Slew * h
	return p.ramp + max(-most, min(most, way))
}

// aim is where the setpoint goes, after the step of the supply and its faults.
func (p *Plant) aim() float64 {
	return quantised(p.target, p.parameters.Output.VoltStep) * p.SetGain
}

// held is what the output stage can give of a setpoint.
func (p *Plant) held(set float64) float64 { return set * p.Held }

// nextStep is how far one step may go: not past the end, not past the moment at
// which the slewing ends, and short against the films' time constants.
func (p *Plant) nextStep(left float64) float64 {
	if p.parted && !p.powered() {
		return left // exact for any step
	}
	if !p.powered() {
		if p.now.volts < emptyVolts {
			return left
		}
		return min(left, drainStep)
	}
	h := left
	if !p.parted {
		h = min(left, p.fastest())
	}
	if way := math.Abs(p.aim() - p.ramp); way > 0 {
		h = min(h, max(way/p.parameters.Output.Slew, shortestStep))
	}
	return h
}

func (p *Plant) fastest() float64 {
	h := longestStep
	for i := range p.groups {
		g := &p.groups[i]
		rate := p.softness * g.across * p.growth(g.across) * g.ionic
		if rate > 0 {
			h = min(h, perTimeConst*g.film*g.film/rate)
		}
	}
	return max(h, shortestStep)
}

// growth is the film (nm) per charge density, at these volts across the film.
func (p *Plant) growth(volts float64) float64 {
	f := &p.parameters.Film
	share := f.Efficiency
	if f.HighVolts > 0 && volts > f.HighVolts {
		part := min(1, (volts-f.HighVolts)/(0.3*f.HighVolts))
		share += part * (f.HighEfficiency - share)
	}
	return f.KF * share * p.EfficiencyFactor
}

func (p *Plant) slopes() {
	for i := range p.groups {
		g := &p.groups[i]
		g.slope = p.growth(g.across)*g.ionic - p.parameters.Film.Dissolution - p.Dissolving
	}
}

// move sets each film to start + h slope, as far as it goes.
func (p *Plant) move(h, weight float64) {
	for i := range p.groups {
		g := &p.groups[i]
		g.sum += weight * g.slope
		g.film = max(leastFilm, g.start+h*g.slope)
	}
}

// step integrates h seconds. The solution at its start is the one at the end of
// the step before, so four solutions are needed.
func (p *Plant) step(h float64) {
	if p.parted {
		p.unloaded(h)
		return
	}
	if !p.powered() {
		p.drainFor(h)
		return
	}
	for i := range p.groups {
		g := &p.groups[i]
		g.start, g.sum = g.film, 0
	}
	p.slopes()
	from := p.now
	total, through := p.now.amperes, p.now.through
	half, whole := p.slewed(h/2), p.slewed(h)
	for _, stage := range [3]struct{ move, weight, set, count float64 }{
		{h / 2, 1, half, 2}, {h / 2, 2, half, 2}, {h, 2, whole, 1},
	} {
		p.move(stage.move, stage.weight)
		p.now = p.regulate(p.held(stage.set))
		p.slopes()
		total += stage.count * p.now.amperes
		through += stage.count * p.now.through
	}
	p.finish(h, total*h/6, through*h/6)
	p.ramp = whole
	p.now = p.regulate(p.held(whole))
	p.meter.follow(from, p.now, h)
}

// finish adds the weighted slopes, the charge (C) and the heat of a step.
func (p *Plant) finish(h, charge, through float64) {
	for i := range p.groups {
		g := &p.groups[i]
		g.film = max(leastFilm, g.start+h*(g.sum+g.slope)/6)
	}
	p.charge += charge
	p.throughFilms += through
	p.warm(h)
	p.seconds += h
}

func (p *Plant) drainFor(h float64) {
	q := p.drain(p.now.volts, h)
	p.slopes()
	for i := range p.groups {
		g := &p.groups[i]
		g.film = max(leastFilm, g.film+h*g.slope)
	}
	from := p.now
	p.now = q
	from.amperes, q.amperes = 0, 0 // the supply's own meter sits before its capacitance
	p.meter.follow(from, q, h)
	p.charge += h * p.now.amperes
	p.throughFilms += h * q.through
	p.warm(h)
	p.seconds += h
	p.ramp = q.volts
}

// warm heats the bath, exactly for an even power and any h, and follows what depends on its temperature.
func (p *Plant) warm(h float64) {
	b := &p.parameters.Bath
	room := b.Room + b.RoomDrift*p.seconds/3600
	ends := room + p.now.volts*p.now.amperes*b.Resistance
	p.celsius -= (ends - p.celsius) * math.Expm1(-h/(b.Resistance*thermalCp*b.Litres))
	p.follow()
}

func (p *Plant) follow() {
	above := p.celsius - 20
	f, c := &p.parameters.Film, &p.parameters.Cell
	p.softness = f.B * nmPerCm * (1 + f.Thermal*above)
	p.series = p.SeriesFactor * (c.LeadOhms + c.BathOhms/(1+zeroKelvinGap*above))
}
