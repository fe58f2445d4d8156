package process

import (
	"math"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// The times of the guard.
const (
	silence     unit.Seconds = 1 // without a valid pair of volts and amperes
	absence     unit.Seconds = 1 // without control
	limitSettle unit.Seconds = 0.5
)

// recent keeps the setpoints of the last steps.
type recent struct {
	t [32]unit.Seconds
	v [32]unit.Volts
	n int
}

func (r *recent) clear() { r.n = 0 }

func (r *recent) push(t unit.Seconds, v unit.Volts) {
	r.t[r.n%len(r.t)], r.v[r.n%len(r.v)] = t, v
	r.n++
}

// highest is the highest setpoint in force since a moment.
func (r *recent) highest(since unit.Seconds) unit.Volts {
	top := unit.Volts(0)
	for k := 1; k <= min(r.n, len(r.t)); k++ {
		x := (r.n - k) % len(r.t)
		top = max(top, r.v[x])
		if r.t[x] < since {
			break // it was in force at that moment
		}
	}
	return top
}

// nearest is the distance of a value to the setpoints in force since a moment.
func (r *recent) nearest(v unit.Volts, since unit.Seconds) float64 {
	least := math.Inf(1)
	for k := 1; k <= min(r.n, len(r.t)); k++ {
		x := (r.n - k) % len(r.t)
		least = math.Min(least, math.Abs(float64(r.v[x]-v)))
		if r.t[x] < since {
			break
		}
	}
	return least
}

// above counts readings in a row that stand above every setpoint of the last seconds, about
// three of them: one that fell with the volts, as in a dip, is left behind by a supply that
// slews, and what comes back comes to volts that the film has seen.
type above struct {
	n    int
	last unit.Seconds
}

func (a *above) see(m *Machine, r Reading) {
	if r.At == a.last {
		return
	}
	a.last = r.At
	top := m.sets.highest(never)
	if m.state.Energised() && float64(r.Volts-top) > math.Max(m.most.OverVolts, m.most.OverShare*float64(top)) {
		a.n++
	} else {
		a.n = 0
	}
}

// guard looks at everything that must end a run, whatever its state. Of several
// the first by precedence is the cause.
func (m *Machine) guard(in *Input, seen *Seen) fault.Set {
	switch {
	case m.state == Checking:
		return m.guardChecking(in)
	case m.state == Discharging:
		return m.guardDischarge()
	case !m.state.Energised():
		return 0
	}
	found := fault.Of(m.guardLid(), m.guardContactor(), m.guardStop(), m.guardVentilation(), m.guardVolts(in), m.guardControl(in), in.Link, seen.Trip)
	if in.Link == "" {
		found = found.With(m.guardPanel(in.Held))
	}
	if m.bath.Fitted && m.bath.OK && m.bath.Celsius > m.hottest() {
		found = found.With(fault.BathTooHot)
	}
	return found
}

// guardDischarge: what comes after a trip, before the cell is seen dead, is listed under it.
func (m *Machine) guardDischarge() fault.Set {
	found := fault.Of(m.guardContactor())
	if m.trip == "" || m.freshReading() && m.reading.At > m.entered && m.reading.Volts < safeVolts {
		return found
	}
	return found | fault.Of(m.guardLid(), m.guardStop())
}

// guardChecking: a fault of the supply or the switch refuses before anything is on.
func (m *Machine) guardChecking(in *Input) fault.Set {
	found := fault.Of(m.guardContactor(), in.Link)
	if m.lid.disagrees {
		found = found.With(fault.InterlockDisagrees)
	}
	if m.pressed() {
		found = found.With(fault.EmergencyStop)
	}
	return found
}

func (m *Machine) guardStop() fault.Code {
	switch {
	case !m.pressed():
		return ""
	case m.stopped.overtaken(m.now) && !m.stopped.disagrees:
		return fault.ControlAbsent
	}
	return fault.EmergencyStop
}

func (m *Machine) guardLid() fault.Code {
	switch {
	case m.lid.overtaken(m.now):
		return fault.ControlAbsent
	case !m.lid.closed(m.now):
		return fault.InterlockOpen
	case m.lid.disagrees:
		return fault.InterlockDisagrees
	}
	return ""
}

// guardVolts: volts above the setpoint that a hand at the panel explains are that hand's.
func (m *Machine) guardVolts(in *Input) fault.Code {
	if in.Link == fault.SupplyTouched && m.reading.Volts <= m.plan.CeilingVolts {
		return ""
	}
	if m.above.n >= 2 || m.freshReading() && m.reading.At > m.start && m.reading.Volts > m.plan.CeilingVolts {
		return fault.OverVoltage
	}
	return ""
}

// guardControl counts silence up to when the last answer of this step was given up.
func (m *Machine) guardControl(in *Input) fault.Code {
	if m.dt > absence+1e-9 {
		return fault.ControlAbsent
	}
	if max(m.now, in.Looked)-max(m.reading.At, m.start) > silence+1e-9 {
		return fault.SupplySilent
	}
	return ""
}

// gap is the last pause in the readings. What was set in it may not have arrived, so
// a setpoint from before it is no knob turned by hand. A pause that a late tick made is none
// of the link: nothing was lost in it.
type gap struct{ from, to, lost unit.Seconds }

func (g *gap) see(m *Machine, in *Input) {
	pause := in.Reading.At - m.reading.At
	if !m.state.Energised() || pause <= 2.5*m.cfg.Tick {
		return
	}
	g.from, g.to = m.reading.At, in.Now
	if pause-max(0, m.dt-m.cfg.Tick) > 2.5*m.cfg.Tick {
		g.lost = in.Now
	}
}

func (g *gap) recent(now unit.Seconds) bool { return g.to > 0 && now-g.to <= limitSettle }

// lostLink tells whether the link was silent lately although the ticks came.
func (g *gap) lostLink(now unit.Seconds) bool { return g.lost > 0 && now-g.lost <= limitSettle }

// since is from when on setpoints may still be the one that is held.
func (g *gap) since(now, held unit.Seconds) unit.Seconds {
	if g.recent(now) {
		return min(held, g.from)
	}
	return held
}

// guardPanel compares what the supply holds with what it was told: a knob turned
// by hand is never fought, and never adopted.
func (m *Machine) guardPanel(held Held) fault.Code {
	if !held.OK || held.At <= m.start+limitSettle {
		return ""
	}
	if m.gap.lostLink(m.now) && held.Output == OutputOff {
		return fault.SupplySilent // off by the lost link: by the driver, or by the supply's own timer
	}
	volts := m.sets.nearest(held.Set, m.gap.since(m.now, held.At)-3*m.cfg.Tick) > 1.5*float64(m.cfg.VoltStep)+1e-9
	amperes := math.Abs(float64(held.Limit-m.limit)) > 1.5*float64(m.cfg.AmpereStep)+1e-9 && held.At > m.limitAt+limitSettle
	if volts || amperes || held.Output == OutputOff {
		return fault.SupplyTouched
	}
	return ""
}
