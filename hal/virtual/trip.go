package virtual

import "math"

// The supply's own trips.
const (
	overVoltage     = "over-voltage"
	overCurrent     = "over-current"
	overTemperature = "over-temperature"
	lostHost        = "lost-host"
)

func (b *Bench) trip(why string) {
	b.switchOutput(false)
	b.registers.tripped = why
}

// guard trips the supply where its own protections say so, and returns when one
// of them is due.
func (b *Bench) guard(now float64) float64 {
	r := &b.registers
	next := math.Inf(1)
	if !r.output {
		r.overSince = math.Inf(1)
		return next
	}
	if r.lostHost {
		next = r.heardAt + r.lostHostAfter
		if next <= now {
			b.trip(lostHost)
			return math.Inf(1)
		}
	}
	return math.Min(next, b.guardCurrent(now))
}

func (b *Bench) guardCurrent(now float64) float64 {
	r := &b.registers
	if !r.overcurrentArmed || b.body.Amperes() < r.overcurrent*(1-1e-9) {
		r.overSince = math.Inf(1)
		return math.Inf(1)
	}
	r.overSince = math.Min(r.overSince, now)
	if due := r.overSince + r.tripDelay; due > now {
		return due
	}
	b.trip(overCurrent)
	return math.Inf(1)
}

// resetRegisters is everything as after power on, but for what is told apart:
// the output, a latched trip, the errors.
func (b *Bench) resetRegisters() {
	was := b.registers
	b.registers = registers{
		protection:  safetyMargin * float64(b.setup.HighestVolts),
		overcurrent: safetyMargin * float64(b.setup.HighestAmperes), overSince: math.Inf(1),
		lostHostAfter: lostHostDefault, heardAt: was.heardAt, output: was.output, tripped: was.tripped,
		restarted: was.restarted, errors: was.errors, deaf: was.deaf, frozen: was.frozen, panelLocked: was.panelLocked,
	}
	b.body.SetSlew(b.setup.Parameters.Output.Slew)
}

// restart is the supply after a power failure of its own: off, nothing set.
func (b *Bench) restart() {
	b.switchOutput(false)
	b.resetRegisters()
	b.registers.tripped, b.registers.errors = "", nil
	b.registers.restarted = true
	b.command()
}
