package process

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/hal/unit"
)

// answerTime is how long a question stays open; silence is a trip.
const answerTime unit.Seconds = 60

// lookTime is how long the contact check waits for a current at its voltage.
const lookTime unit.Seconds = 2

func (m *Machine) setLimit(limit unit.Amperes) {
	if limit != m.limit {
		m.limit, m.limitAt = limit, m.now
	}
}

// stride moves the setpoint towards a goal. It follows the elapsed time, but never
// makes up for a late tick, and waits within a small margin above the measured
// volts, so that the bath sets the pace and no jump follows a dip.
func (m *Machine) stride(goal unit.Volts, rate unit.VoltsPerSecond) {
	tick := m.cfg.Tick
	if m.dt > 2*tick+1e-9 || m.now-m.reading.At > 2*tick+readingLag {
		m.waited += m.dt
		return // late, or blind: the setpoint stands
	}
	if m.probing() {
		return
	}
	next := min(goal, m.set+unit.Volts(float64(rate)*float64(m.dt)))
	if m.elapsed() > m.cfg.Settle+2*tick {
		margin := unit.Volts(math.Max(0.5, float64(rate)*float64(m.cfg.Settle+2*tick)))
		next = m.ahead(next, max(0, m.reading.Volts), margin)
	}
	m.set = max(next, m.cfg.LeastVolts)
}

// tookLonger tells whether a ramp took longer than it may. What the setpoint stood because
// a busy machine was late is not the bath's doing, and is granted once more; 0 is no limit.
func (m *Machine) tookLonger(most unit.Seconds) bool {
	return most > 0 && m.now-m.entered-min(m.waited, most) > most
}

// ahead keeps a setpoint within a margin above the measured volts, and what a meter may
// read too little. It waits where it is ahead by more, and follows them down in a dip.
func (m *Machine) ahead(next, measured, margin unit.Volts) unit.Volts {
	most := measured*(1+gainShare) + margin
	switch {
	case m.set <= most:
		return min(next, most)
	case m.set <= most+margin:
		return min(next, m.set)
	}
	return min(next, measured+margin)
}

// gainShare is how far a supply may read below its own setpoint without holding it back: as
// much as nobody is told of. A margin in volts alone lets a meter that reads half a per cent
// low stop the ramp for ever, from 60 V on.
const gainShare = 0.005

// readingLag is how much older than its tick a reading may be: it is dated at the
// middle of its exchange.
const readingLag unit.Seconds = 0.15

// proveContact ramps slowly to a few volts, where a mistake costs nothing.
func (m *Machine) proveContact(seen *Seen) {
	check := m.plan.ContactCheck
	m.stride(check.Volts, check.Ramp)
	m.peakCurrent = max(m.peakCurrent, seen.Estimates.Current)
	if !m.arrived(check.Volts) {
		if m.tookLonger(check.LongestCheck) {
			m.ranOut(fault.TargetNotReached)
		}
		return
	}
	switch {
	case m.peakCurrent < check.NoContact:
		if m.now-m.reachedAt >= lookTime {
			m.fail(fault.NoContact)
		}
	case seen.Missing && !m.agreed:
		m.ask(fault.PartMissing)
	case m.doubtful(seen):
		m.ask(fault.AreaOverstated)
	default:
		m.nextStage(0)
	}
}

// doubtful tells whether so little of the declared area draws current that a person
// should look before anything is coloured.
func (m *Machine) doubtful(seen *Seen) bool {
	area, sd := seen.Estimates.LiveArea, seen.Estimates.LiveAreaSD
	return !m.agreed && sd < area/10 && float64(area) < m.most.AskedArea*float64(m.plan.Area)
}

// ask puts a question at the contact check's voltage, or trips where none comes.
func (m *Machine) ask(code fault.Code) {
	if m.question == "" {
		m.question, m.asked = code, m.now
	}
	if m.now-m.asked >= answerTime {
		m.fail(fault.NotAnswered)
	}
}

// arrived tells whether the volts are at a goal: measured there, or the setpoint
// has stood there while the current is below its limit.
func (m *Machine) arrived(goal unit.Volts) bool {
	if m.set < goal {
		m.reachedAt = never
		return false
	}
	near := m.reading.Volts >= goal-unit.Volts(math.Max(0.2, 0.0025*float64(goal)))
	stood := !math.IsNaN(float64(m.reachedAt)) && m.now-m.reachedAt > 2+m.cfg.Settle
	if math.IsNaN(float64(m.reachedAt)) {
		m.reachedAt = m.now
	}
	return near || stood && !m.limited()
}

// limited tells whether the supply regulates current.
func (m *Machine) limited() bool {
	r := m.reading
	if r.Mode == ConstantCurrent {
		return true
	}
	atLimit := r.Amperes >= m.limit*0.99-2*m.cfg.AmpereStep
	return r.Mode != ConstantVoltage && atLimit && r.Volts < m.set-unit.Volts(math.Max(0.1, 0.005*float64(m.set)))
}

func (m *Machine) nextStage(n int) {
	m.stage = n
	m.setLimit(m.running().CurrentLimit)
	m.enter(Ramping)
}

// running is the stage that runs.
func (m *Machine) running() plan.Stage { return m.plan.Stages[m.stage] }

func (m *Machine) ramp(_ *Seen) {
	stage := &m.plan.Stages[m.stage]
	m.stride(stage.TargetVolts, stage.Ramp)
	if m.arrived(stage.TargetVolts) {
		m.enter(Holding)
	} else if m.tookLonger(stage.LongestRamp) {
		m.ranOut(fault.TargetNotReached)
	}
}

// hold ends when the current density has stayed at its end value, or by time where
// the profile says so. There is no final thickness, only the end criterion.
func (m *Machine) hold(seen *Seen) {
	stage := &m.plan.Stages[m.stage]
	m.stride(stage.TargetVolts, stage.Ramp)
	held := m.now - m.entered
	switch {
	case stage.End.Time > 0:
		if held >= stage.End.Time-1e-9 {
			m.stageDone()
		}
	case m.sustained(stage, seen) && held >= stage.End.LeastHold:
		m.stageDone()
	case held > stage.End.LongestHold:
		m.ranOut(fault.EndNotReached)
	}
}

// shortestSustain keeps a momentary reading from ending a hold, whatever the profile says.
const shortestSustain unit.Seconds = 0.5

// sustained needs volts at target, a density at or below the end, no doubt about
// contact, and all of it for the stated time.
func (m *Machine) sustained(stage *plan.Stage, seen *Seen) bool {
	follows := float64(stage.TargetVolts-m.reading.Volts) <= math.Max(0.5, 0.01*float64(stage.TargetVolts))
	is := follows && m.set >= stage.TargetVolts && m.freshReading() && !seen.Suspect &&
		seen.Estimates.Density <= stage.End.CurrentDensity
	switch {
	case !is:
		m.within = never
	case math.IsNaN(float64(m.within)):
		m.within = m.now
	}
	return is && m.now-m.within >= max(stage.End.Sustained, shortestSustain)-1e-9
}

func (m *Machine) stageDone() {
	if m.stage+1 < len(m.plan.Stages) {
		m.nextStage(m.stage + 1)
		return
	}
	m.target = Complete
	m.off()
}

func (m *Machine) ranOut(code fault.Code) {
	m.byTime, m.target = code, TimeRanOut
	m.off()
}
