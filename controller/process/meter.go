package process

import (
	"math"

	"anodized/hal/unit"
)

// Meter is the independent voltmeter across the cell. It is worthless unless OK.
type Meter struct {
	OK    bool
	Volts unit.Volts
	At    unit.Seconds
}

const (
	meterAge    unit.Seconds = 2
	restingDiff unit.Volts   = 0.5 // between supply and meter with the output off
)

func (m *Machine) freshMeter() bool { return m.meter.OK && m.now-m.meter.At <= meterAge+1e-9 }

// missingMeter wants a voltmeter that is fitted to answer, to show a cell without volts,
// and to agree with the supply as far as both see the same: an open contactor stands
// between them.
func (m *Machine) missingMeter() (r Reasons) {
	if !m.cfg.Voltmeter {
		return 0
	}
	if !m.freshMeter() {
		return MeterUnread
	}
	if volts := unit.Volts(math.Abs(float64(m.meter.Volts))); volts >= safeVolts {
		r |= VoltsNotZero
	}
	joined := !m.contactor.fitted || m.contactor.want
	if apart := math.Abs(float64(m.meter.Volts - m.reading.Volts)); joined && m.freshReading() && unit.Volts(apart) > restingDiff {
		r |= MeterDisagrees
	}
	return r
}

// cellVolts are the volts that decide whether the cell may be touched: what the supply
// reads or, where it is more, what the meter at the cell reads. It is not a number where
// one of the two that are fitted has no fresh reading.
func (m *Machine) cellVolts() unit.Volts {
	if !m.freshReading() || m.cfg.Voltmeter && !m.freshMeter() {
		return unit.Volts(math.NaN())
	}
	volts := m.reading.Volts
	if m.cfg.Voltmeter {
		volts = max(volts, unit.Volts(math.Abs(float64(m.meter.Volts))))
	}
	return volts
}

// cellCharged tells whether the meter shows volts at the cell. A meter without a reading
// shows nothing: the supply's reading alone ends the discharge then, and nothing counts
// as proven.
func (m *Machine) cellCharged() bool {
	return m.cfg.Voltmeter && m.freshMeter() && unit.Volts(math.Abs(float64(m.meter.Volts))) >= safeVolts
}
