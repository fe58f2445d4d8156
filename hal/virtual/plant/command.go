package plant

// Recompute follows a change of Faults or of the setpoint at once.
func (p *Plant) Recompute() {
	p.follow()
	if p.parted {
		if p.powered() {
			p.now = point{volts: p.held(p.ramp)}
		}
		return
	}
	if p.powered() {
		p.now = p.regulate(p.held(p.ramp))
	}
}

func (p *Plant) powered() bool { return p.switched || p.StuckOn }

// Resume lets the setpoint slew again from the voltage that is there, as after a mains dip.
func (p *Plant) Resume() {
	p.ramp = p.now.volts
	p.Recompute()
}

// Command tells the supply its setpoint (V) and current limit (A).
func (p *Plant) Command(volts, amperes float64) {
	p.target, p.limit = volts, quantised(amperes, p.parameters.Output.AmpereStep)
	p.Recompute()
}

// SetSlew changes how fast the setpoint moves (V/s, above zero).
func (p *Plant) SetSlew(voltsPerSecond float64) { p.parameters.Output.Slew = voltsPerSecond }

// Slew is how fast the setpoint moves (V/s).
func (p *Plant) Slew() float64 { return p.parameters.Output.Slew }

// Switch tells the supply to put its output on or off. The setpoint then slews
// from the voltage that is there.
func (p *Plant) Switch(on bool) {
	if p.switched == on {
		return
	}
	p.switched = on
	p.Recompute()
}
