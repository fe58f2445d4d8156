package process

import (
	"anodized/controller/fault"
	"anodized/hal/unit"
)

// The times of the discharge.
const (
	stuckAfter    unit.Seconds = 2  // the volts must be falling by then
	longDischarge unit.Seconds = 60 // a large output capacitor, not longer
	blindAfter    unit.Seconds = 5  // without readings nothing more can be learned
)

// dying follows the volts after the output went off.
type dying struct {
	at    unit.Seconds
	volts unit.Volts
	begun bool
}

// falling compares with a second ago: two per cent a second is a discharge.
func (d *dying) falling(r Reading) (judged, falling bool) {
	if !d.begun {
		*d = dying{r.At, r.Volts, true}
		return false, true
	}
	if r.At-d.at < 1 {
		return false, true
	}
	falling = r.Volts < 0.98*d.volts
	d.at, d.volts = r.At, r.Volts
	return true, falling
}

// discharge waits until the cell is measured as safe and the output is read back
// as off. Off is not zero volts. A cell that cannot be proven dead is a trip, so that
// nobody takes the end of the run for leave to open.
func (m *Machine) discharge() {
	m.on, m.set = false, 0
	waited := m.now - m.entered
	m.unload(waited)
	released := m.contactor.released(m.now) || m.contactor.welded(m.now) // the guard has told of a welded one
	read := m.reading.At > m.entered
	quiet := read && m.freshReading() && m.reading.Volts < safeVolts
	off := m.held.OK && m.held.At > m.entered && m.held.Output == OutputOff
	judged, falling := false, true
	if read && !quiet {
		judged, falling = m.dying.falling(m.reading)
	}
	switch {
	case quiet && off && released && !m.cellCharged():
		m.finish()
	case judged && !falling && waited >= stuckAfter, m.heldOn(waited):
		m.fail(fault.OutputStuckOn)
		m.finish()
	case waited > longDischarge:
		m.fail(fault.OutputStuckOn)
		m.finish()
	case !m.freshReading() && waited > blindAfter:
		m.fail(fault.SupplySilent)
		m.finish()
	}
}

// heldOn tells whether the supply itself says that its output is still on.
func (m *Machine) heldOn(waited unit.Seconds) bool {
	return waited >= stuckAfter && m.held.OK && m.held.At > m.entered+stuckAfter/2 && m.held.Output == OutputOn
}

func (m *Machine) finish() { m.enter(m.target) }

// SafeToOpen tells whether everything that proves a dead cell is young enough:
// volts measured within half a second, at the cell too where a voltmeter is, and an output read back as off, which is
// asked once a second.
func (m *Machine) SafeToOpen() (proven bool, volts unit.Volts) {
	volts = m.cellVolts()
	off := m.held.OK && m.held.Output == OutputOff && m.now-m.held.At <= heldAge
	return off && !m.on && volts < safeVolts, volts
}
