package process

import "anodized/controller/fault"

// hear takes what a person asks for. What is illegal while the output may be on is
// a trip; where nothing is energised it is rejected and said so.
func (m *Machine) hear(e Event) {
	switch e {
	case NoEvent:
	case Start:
		m.begin()
	case Stop, StopByEye:
		m.stop(e == StopByEye)
	case GoOn, GiveUp:
		m.answer(e == GoOn)
	case Acknowledge:
		m.acknowledge()
	default:
		m.illegal(e)
	}
}

func (m *Machine) illegal(e Event) {
	m.rejected = e
	if m.state.Energised() {
		m.fail(fault.IllegalEvent)
	}
}

// begin starts checking. A latched trip must be acknowledged first.
func (m *Machine) begin() {
	if m.state == Tripped || !m.loaded || (m.state != Idle && !m.state.Ended()) {
		m.illegal(Start)
		return
	}
	m.trip, m.also, m.byTime, m.byEye, m.question = "", 0, "", false, ""
	m.reasons, m.intent, m.agreed, m.stage, m.start = 0, false, false, 0, never
	m.clearedAt, m.probedAt, m.peakCurrent, m.gap = never, never, 0, gap{}
	m.on, m.set = false, 0
	m.setLimit(m.plan.CurrentLimit)
	m.enter(Checking)
}

// stop is never illegal: where nothing is energised there is nothing to do.
func (m *Machine) stop(byEye bool) {
	switch {
	case m.state == Checking:
		m.target = Stopped
		m.on, m.set = false, 0
		m.contactor.ask(false, m.now)
		m.enter(Stopped)
	case m.state.Energised():
		m.byEye, m.target = byEye, Stopped
		m.off()
	}
}

func (m *Machine) answer(goOn bool) {
	switch {
	case m.question == "" && !goOn:
		m.stop(false) // giving up is a stop, asked or not
	case m.question == "":
		m.illegal(GoOn)
	case goOn:
		m.question, m.agreed = "", true
	default:
		m.stop(false)
	}
}

// acknowledge clears a trip whose cause is gone, once the lid was opened and closed
// since. It starts nothing.
func (m *Machine) acknowledge() {
	switch {
	case m.state == Tripped && m.uncleared() != 0, !m.state.Ended():
		m.illegal(Acknowledge)
	default: // what a refused load met is latched no more than the refusal
		m.trip, m.also, m.reasons = "", 0, 0
		m.enter(Idle)
	}
}

// uncleared is what an acknowledgement still lacks: fresh readings of everything, an output
// that is read back as off, no protection of the supply's own that still stands, no voltage
// on the cell, and the lid opened and closed since.
func (m *Machine) uncleared() Reasons {
	r := m.missingLid() | m.hotBath() | m.stillAir()
	for _, item := range [...]struct {
		lacks  bool
		reason Reasons
	}{
		{m.lid.disagrees, ChannelsDisagree},
		{m.pressed(), StopPressed},
		{!m.contactor.released(m.now), ContactorNotOpen},
		{!m.freshReading(), SupplyUnread},
		{m.freshReading() && m.reading.Volts >= safeVolts || m.cellCharged(), VoltsNotZero},
		{!m.held.OK || m.held.At <= m.entered, SupplyNotHeld},
		{m.held.OK && m.held.Output != OutputOff, OutputNotOff},
		{m.held.OK && m.held.Tripped, SupplyFault},
	} {
		if item.lacks {
			r |= item.reason
		}
	}
	return r
}

// hotBath: a bath that ended a run has to be read as cooler.
func (m *Machine) hotBath() Reasons {
	switch {
	case !m.also.With(m.trip).Has(fault.BathTooHot) || !m.bath.Fitted:
		return 0
	case !m.bath.OK:
		return BathUnread
	case m.bath.Celsius > m.hottest():
		return BathOutside
	}
	return 0
}
