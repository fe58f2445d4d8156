package process

import (
	"math"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"
)

// Machine is the state of the run. One Station owns one; it is not safe for
// several goroutines and needs none.
type Machine struct {
	cfg    Config
	plan   plan.Plan
	most   profiles.Watch // thresholds: defaults, and what the profile moved
	loaded bool

	state    State
	entered  unit.Seconds // when the state was entered
	waited   unit.Seconds // for how long the setpoint stood in it, as ticks were late
	now      unit.Seconds
	dt       unit.Seconds // true time since the last step
	dtBefore unit.Seconds
	first    bool // no step yet

	lid     lid
	reading Reading // the last one that was read
	held    Held
	bath    Bath
	meter   Meter
	zero    zero

	stopped    lid // the contacts of the emergency stop, judged like a lid
	stopFitted bool
	contactor  contactor
	air        air

	on       bool
	set      unit.Volts
	limit    unit.Amperes
	limitAt  unit.Seconds // when the limit was changed last
	probedAt unit.Seconds // when it was halved last, NaN before
	sets     recent       // setpoints of the last steps
	start    unit.Seconds // first energised second, NaN before
	stage    int
	target   State // where discharging leads
	trip     fault.Code
	also     fault.Set
	byTime   fault.Code
	byEye    bool
	question fault.Code
	asked    unit.Seconds
	agreed   bool // the person said go on
	intent   bool // the intent row was asked for
	intentAt unit.Seconds
	zeroed   unit.Amperes // the zero as the intent row has it
	reasons  Reasons
	rejected Event

	peakCurrent unit.Amperes // in the contact check
	reachedAt   unit.Seconds // setpoint at its goal since; NaN before
	within      unit.Seconds // end criterion held since; NaN while it does not
	above       above
	gap         gap
	dying       dying
	clearedAt   unit.Seconds // since when checking has had nothing but transient reasons
}

// New returns an idle machine for a bench. The output is off.
func New(cfg Config) *Machine {
	return &Machine{cfg: cfg, most: profiles.Watch{}.Filled(), first: true, contactor: newContactor(cfg), lid: newLid(), stopped: newLid(), air: newAir(), start: never, reachedAt: never, within: never, clearedAt: never, probedAt: never,
		reading: Reading{At: unit.Seconds(math.Inf(-1))}}
}

// Load sets the plan that the next start begins. It is refused while a run is on.
func (m *Machine) Load(p plan.Plan) bool {
	if m.state != Idle && !m.state.Ended() {
		return false
	}
	m.plan, m.most, m.loaded = p, p.Watch.Filled(), true
	return true
}

// Ended tells whether a state is the end of a run.
func (s State) Ended() bool { return s >= Complete }

// Energised tells whether the output is meant to be on in a state.
func (s State) Energised() bool { return s == ContactCheck || s == Ramping || s == Holding }

// names are the words for the states, the same in journal, JSON and metrics.
var names = [...]string{"idle", "checking", "contact-check", "ramping", "holding", "discharging",
	"complete", "time-ran-out", "stopped", "tripped", "refused"}

// String returns the word for a state.
func (s State) String() string {
	if int(s) < len(names) {
		return names[s]
	}
	return "unknown"
}

// pace sets the length of a tick. It is refused while the output may be on.
func (m *Machine) pace(tick unit.Seconds) bool {
	if m.state.Energised() || m.state == Discharging || !(tick > 0) {
		return false
	}
	m.cfg.Tick = tick
	return true
}

func (m *Machine) enter(s State) {
	m.state, m.entered, m.waited = s, m.now, 0
	m.reachedAt, m.within = never, never
}

// Step decides what the bench shall do from what is known now. It allocates
// nothing.
func (m *Machine) Step(in *Input, seen *Seen) Command {
	m.dt, m.dtBefore = in.Now-m.now, m.dt
	if m.first {
		m.dt, m.dtBefore, m.first = 0, 0, false
		m.contactor.since, m.contactor.pulse = in.Now, in.Now
	}
	m.now, m.rejected = in.Now, NoEvent
	m.remember(in)
	for found := m.guard(in, seen); found != 0; found = found.Without(found.First()) {
		m.fail(found.First())
	}
	m.hear(in.Event)
	m.advance(in, seen)
	m.sets.push(m.now, m.set)
	return m.command(seen)
}

// advance does the work of the state.
func (m *Machine) advance(in *Input, seen *Seen) {
	if m.state.Energised() {
		m.probe(seen)
	}
	switch m.state {
	case Idle, Complete, TimeRanOut, Stopped, Tripped, Refused:
		m.on, m.set = false, 0
		m.contactor.ask(false, m.now)
		if m.state == Tripped {
			m.reasons = m.uncleared()
		}
	case Checking:
		m.check(in)
	case ContactCheck:
		m.proveContact(seen)
	case Ramping:
		m.ramp(seen)
	case Holding:
		m.hold(seen)
	case Discharging:
		m.discharge()
	}
}

// remember keeps the last good reading of everything.
func (m *Machine) remember(in *Input) {
	m.lid.see(in.Interlock, in.Now)
	stop := in.EmergencyStop
	m.stopFitted = stop.Fitted
	m.stopped.see(Interlock{OK: stop.OK, Closed: stop.Closed, At: stop.At}, in.Now)
	m.contactor.see(in.Contactor, in.Now)
	m.air.see(in.Ventilation, in.Now)
	if in.Reading.OK {
		m.gap.see(m, in)
		m.reading = in.Reading
		m.above.see(m, in.Reading)
	}
	if in.Held.OK {
		m.held = in.Held
	}
	m.bath = in.Bath
	if in.Meter.OK {
		m.meter = in.Meter
	}
	if !m.on && (m.state == Checking || m.state == Idle || m.state.Ended()) && in.Reading.OK {
		m.zero.push(in.Reading)
	}
}

// fail latches the first cause and falls through discharging. Before the output
// was ever on, a failure is a refusal.
func (m *Machine) fail(code fault.Code) {
	if code == fault.OutputStuckOn {
		m.setLimit(0) // whatever still takes a command shall give nothing
	}
	switch {
	case m.state == Checking:
		m.trip = code
		m.refuse(reasonOf(code))
	case m.state.Energised():
		m.trip, m.target = code, Tripped
		m.off()
		m.contactor.ask(false, m.now)
	case m.state == Discharging && m.trip == "":
		m.trip, m.target = code, Tripped
		m.contactor.ask(false, m.now)
	case m.trip != code:
		m.also = m.also.With(code)
	}
}

// reasonOf is the reason of a refusal for a fault that was found while checking.
func reasonOf(code fault.Code) Reasons {
	switch code {
	case fault.InterlockDisagrees:
		return ChannelsDisagree
	case fault.EmergencyStop:
		return StopPressed
	case fault.ContactorStuck:
		return ContactorFault
	}
	return SupplyFault
}

// off ends the energised part of a run. It waits for nothing.
func (m *Machine) off() {
	m.on, m.set, m.question = false, 0, ""
	m.enter(Discharging)
	m.dying = dying{}
}

func (m *Machine) refuse(why Reasons) {
	m.reasons |= why
	m.on, m.set = false, 0
	m.contactor.ask(false, m.now)
	m.enter(Refused)
}

// command is what the bench shall do now.
func (m *Machine) command(seen *Seen) Command {
	return Command{State: m.state, On: m.on, Close: m.contactor.want, Set: m.set, Limit: m.limit, Intent: m.intent && m.state == Checking,
		Question: m.question, Trip: m.trip, Also: m.also, Reasons: m.reasons, T: m.elapsed(), Stage: m.stage,
		ByEye: m.byEye, ByTime: m.byTime, Progress: m.progress(seen), Rejected: m.rejected}
}

// elapsed is the time since the first energised second.
func (m *Machine) elapsed() unit.Seconds {
	if math.IsNaN(float64(m.start)) {
		return 0
	}
	return m.now - m.start
}

func (m *Machine) progress(seen *Seen) float64 {
	switch {
	case m.state == Discharging || m.state == Complete:
		return 1
	case !m.state.Energised():
		return 0
	}
	left := float64(seen.Estimates.SecondsLeft)
	if math.IsNaN(left) {
		left = float64(m.plan.Expected.RampSeconds + m.plan.Expected.HoldSeconds - m.elapsed())
	}
	gone := float64(m.elapsed())
	return math.Min(1, gone/math.Max(1e-9, gone+math.Max(0, left)))
}

// Zero is the current that the supply reads with its output off, where it is large
// enough to be subtracted; else 0. From the intent row on it is frozen.
func (m *Machine) Zero() unit.Amperes {
	if m.intent {
		return m.zeroed
	}
	mean, ok := m.zero.mean()
	if !ok || math.Abs(float64(mean)) <= math.Max(2*float64(m.cfg.AmpereStep), m.most.ZeroShare*float64(m.endCurrent())) {
		return 0
	}
	return mean
}
