package process

import (
	"anodized/controller/fault"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// probe halves the current limit while watch wants a second point of the line of
// volts over amperes, and restores it. Downward only: no current rises by it.
func (m *Machine) probe(seen *Seen) {
	limit := m.plan.CurrentLimit
	if m.state != ContactCheck {
		limit = m.running().CurrentLimit
	}
	if seen.Probe {
		limit = max(limit/2, m.cfg.LeastAmperes)
		m.probedAt = m.now
	}
	m.setLimit(limit)
}

// probing tells whether the readings are those of the halved limit, however late they come.
// The setpoint stands meanwhile: one that followed the volts down would be below them when
// they come back.
func (m *Machine) probing() bool {
	before := m.limitAt >= m.probedAt && m.reading.At <= m.limitAt+m.cfg.Settle
	return m.now-m.probedAt <= m.cfg.Settle+2*m.cfg.Tick || before
}

// restingAfter is how long after off a meter has forgotten the current of the run.
const restingAfter unit.Seconds = 0.5

// rest shows the watch what the meter reads with the output off, and lets it judge
// that once the run is over.
func (l *Loop) rest(in *Input, before State) {
	m := l.machine
	if l.watch == nil || before != Discharging {
		return
	}
	if m.state == Discharging && in.Reading.OK && in.Reading.At > m.entered+restingAfter {
		l.watch.After(in.Reading.Amperes)
	}
	if m.state.Ended() && !m.doubted() {
		l.watch.Rested()
	}
}

// doubted tells whether the run ended with a current that may be true, or a reading that
// stands still: neither says anything of the meter's zero.
func (m *Machine) doubted() bool {
	all := m.also.With(m.trip)
	return all.Has(fault.OutputStuckOn) || all.Has(fault.ReadbackStuck)
}

// look is what watch says of the readings so far.
func look(w *watch.Watch) Seen {
	return Seen{Estimates: w.Estimates(), Trip: w.Trip(), Suspect: w.Suspect(), Probe: w.Probe(), Missing: w.Missing()}
}
