package process

import (
	"math"

	"anodized/hal/unit"
)

// The ages up to which evidence counts, and how long checking waits.
const (
	readingAge unit.Seconds = 0.5
	heldAge    unit.Seconds = 1.6 // setpoints and output are read back once a second
	patience   unit.Seconds = 4   // for readings and read-backs to come in
	recordWait unit.Seconds = 6   // for the intent row
	bathAge    unit.Seconds = 10
	safeVolts  unit.Volts   = 5 // below it the wet cell may be touched
	zeroWanted              = 10
)

// zero averages the last readings with the output off.
type zero struct {
	v    [20]unit.Amperes
	n    int
	last unit.Seconds
}

func (z *zero) push(r Reading) {
	if z.n > 0 && r.At == z.last {
		return
	}
	z.last = r.At
	z.v[z.n%len(z.v)] = r.Amperes
	z.n++
}

func (z *zero) mean() (unit.Amperes, bool) {
	n := min(z.n, len(z.v))
	if n < zeroWanted {
		return 0, false
	}
	sum := unit.Amperes(0)
	for _, i := range z.v[:n] {
		sum += i
	}
	return sum / unit.Amperes(n), true
}

// endCurrent is the end current of the last stage; for a timed hold one per cent
// of the limit.
func (m *Machine) endCurrent() unit.Amperes {
	if m.plan.End.Time > 0 || m.plan.End.Current <= 0 {
		return m.plan.CurrentLimit / 100
	}
	return m.plan.End.Current
}

func (m *Machine) freshReading() bool { return m.now-m.reading.At <= readingAge+1e-9 }

// missing lists every item of positive evidence that is not there now.
func (m *Machine) missing(in *Input) Reasons {
	r := m.missingLid() | m.missingVentilation() | m.missingContactor() | m.missingSupply() | m.missingMeter() | m.missingBath()
	if in.NoRecord {
		r |= RecordNotReady
	}
	if in.TimerOff {
		r |= TimerNotArmed
	}
	if in.BrownOut {
		r |= UnderVoltage
	}
	switch in.Pace {
	case PaceUnmeasured:
		r |= LinkUnmeasured
	case PaceTooSlow:
		r |= LinkTooSlow
	}
	return r | m.missingPlan()
}

func (m *Machine) missingLid() (r Reasons) {
	if !m.lid.fresh(m.now) {
		r |= InterlockUnread
	} else if !m.lid.closed(m.now) {
		r |= LidOpen
	}
	if !m.lid.cycled(m.now) {
		r |= LidNotCycled
	}
	return r
}

// missingContactor wants it seen open before it is pulsed: a welded one protects
// nobody, and looks right from then on.
func (m *Machine) missingContactor() Reasons {
	c := &m.contactor
	switch {
	case !c.fitted || c.want:
		return 0
	case !c.fresh(m.now):
		return ContactorUnread
	case !c.open(m.now):
		return ContactorNotOpen
	}
	return 0
}

func (m *Machine) missingSupply() (r Reasons) {
	current, counted := m.zero.mean()
	if !m.freshReading() || !counted {
		r |= SupplyUnread
	} else if bound := max(2*m.cfg.AmpereStep, unit.Amperes(m.most.OffsetRefused)*m.endCurrent()); math.Abs(float64(current)) > float64(bound) {
		r |= CurrentNotZero
	}
	if m.freshReading() && m.reading.Volts >= safeVolts {
		r |= VoltsNotZero
	}
	if !m.held.OK || m.now-m.held.At > heldAge || m.held.At < m.entered {
		return r | SupplyNotHeld
	}
	if m.held.Output != OutputOff {
		r |= OutputNotOff
	}
	if !m.taken() {
		r |= LimitsNotTaken
	}
	return r
}

// taken tells whether the supply holds the setpoint and the limit that were asked.
func (m *Machine) taken() bool {
	volts := math.Abs(float64(m.held.Set - max(m.set, m.cfg.LeastVolts)))
	amperes := math.Abs(float64(m.held.Limit - max(m.limit, m.cfg.LeastAmperes)))
	return volts <= 1.5*float64(m.cfg.VoltStep)+1e-9 && amperes <= 1.5*float64(m.cfg.AmpereStep)+1e-9
}

// hottest is the temperature of the bath above which a run ends.
func (m *Machine) hottest() unit.Celsius { return unit.Celsius(m.most.BathHottest) }

func (m *Machine) missingBath() (r Reasons) {
	if !m.bath.Fitted {
		return 0
	}
	window := m.plan.BathWindow
	switch {
	case !m.bath.OK || m.now-m.bath.At > bathAge:
		r |= BathUnread
	case window.Most > window.Least && (m.bath.Celsius < window.Least || m.bath.Celsius > window.Most):
		r |= BathOutside
	}
	return r
}

// missingPlan is what no waiting can mend.
func (m *Machine) missingPlan() (r Reasons) {
	if m.plan.CeilingVolts > m.cfg.HighestVolts || m.plan.CurrentLimit > m.cfg.HighestAmperes {
		r |= BeyondSupply
	}
	if m.plan.ContactCheck.Volts < m.cfg.LeastVolts || m.plan.CurrentLimit < m.cfg.LeastAmperes {
		r |= BelowSupply
	}
	if m.plan.End.Time == 0 && m.cfg.AmpereStep > m.endCurrent()/2 {
		r |= CurrentTooCoarse
	}
	return r
}

// hopeless are the reasons that refuse at once.
const hopeless = BeyondSupply | BelowSupply | CurrentTooCoarse | RecordNotReady | LinkTooSlow

// check waits for the lid, then for the rest, then for the intent row, and goes on
// only when nothing is missing in the very tick that energises.
func (m *Machine) check(in *Input) {
	m.reasons = m.missing(in)
	waited := m.now - m.entered
	if m.reasons&(LidNotCycled|LidOpen) != 0 {
		m.clearedAt = never
	} else if math.IsNaN(float64(m.clearedAt)) {
		m.clearedAt = m.now
	}
	if m.reasons != 0 {
		m.contactor.ask(false, m.now)
	}
	silent := !m.freshReading() || m.reasons&(ContactorUnread|InterlockUnread|AirUnread|SupplyNotHeld|OutputNotOff) != 0
	dead := silent && waited > patience
	late := m.reasons != 0 && m.now-m.clearedAt > patience
	switch {
	case in.LidFirst && m.reasons&(LidNotCycled|LidOpen) != 0, m.reasons&hopeless != 0 || dead || late:
		m.refuse(0)
	case waited > lidWait:
		m.refuse(LidWaitOver)
	case m.reasons == 0:
		m.energise(in)
	}
}

// energise asks for the intent row, and switches on once it is on the disk.
func (m *Machine) energise(in *Input) {
	if !m.intent {
		m.zeroed = m.Zero()
		m.intent, m.intentAt = true, m.now
		return
	}
	if !in.Durable {
		if m.now-m.intentAt > recordWait {
			m.refuse(RecordNotReady)
		}
		return
	}
	if !m.contactor.ready(m.now) {
		return // the first pulse goes out, or the mirror contact is awaited
	}
	if !in.Reading.OK {
		return // the supply failed in this very tick: on would stay unsaid, and the record count seconds that never were
	}
	m.on, m.start, m.set = true, m.now, m.cfg.LeastVolts
	m.lid.load()
	m.sets.clear()
	m.enter(ContactCheck)
}
