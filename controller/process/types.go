package process

import (
	"anodized/controller/fault"
	"anodized/controller/watch"
	"anodized/hal/unit"
)

// State is where a run is.
type State uint8

// The states, in the order of a run; the last six are ends.
const (
	Idle State = iota
	Checking
	ContactCheck
	Ramping
	Holding
	Discharging
	Complete
	TimeRanOut
	Stopped
	Tripped
	Refused
)

// Mode is what regulates the supply.
type Mode uint8

// The modes; the numbers are those of hal.Mode.
const (
	ModeUnknown Mode = iota
	ModeOff
	ConstantVoltage
	ConstantCurrent
	Unregulated
)

// Output is what is known of the supply's output.
type Output uint8

// Unknown counts as on for people and as off for the process.
const (
	OutputUnknown Output = iota
	OutputOff
	OutputOn
)

// Event is what a person asks for.
type Event uint8

// The events. GoOn and GiveUp answer the open question.
const (
	NoEvent Event = iota
	Start
	Stop
	StopByEye
	GoOn
	GiveUp
	Acknowledge
)

// Reading is one exchange with the supply. It is worthless unless OK.
type Reading struct {
	OK      bool
	Volts   unit.Volts
	Amperes unit.Amperes
	Mode    Mode
	At      unit.Seconds
}

// Held is what the supply says it holds, when last asked. It is worthless unless OK.
type Held struct {
	OK      bool
	Set     unit.Volts
	Limit   unit.Amperes
	Output  Output
	At      unit.Seconds
	Tripped bool // its own protection is latched, as it says
}

// Interlock is the two channels of the lid switch. Not OK counts as open, and so
// does Moved: a channel moved since the reading before, however shortly.
type Interlock struct {
	OK     bool
	Closed [2]bool
	Moved  bool
	At     unit.Seconds
}

// EmergencyStop is the contacts of the emergency stop. Where it is fitted, not OK
// counts as pressed, and so does an open contact.
type EmergencyStop struct {
	Fitted bool
	OK     bool
	Closed [2]bool
	At     unit.Seconds
}

// Ventilation is the contact of the airflow switch, closed while the air moves. Where it
// is fitted, not OK counts as open.
type Ventilation struct {
	Fitted bool
	OK     bool
	Closed bool
	At     unit.Seconds
}

// Contactor is what the mirror contact says. It is worthless unless OK.
type Contactor struct {
	Fitted  bool
	OK      bool
	Closed  bool
	At      unit.Seconds
	Cleared bool // OK or not: the one-shot was cleared since the last pulse, so it opens at once
}

// Bath is the bath thermometer. Fitted is false where the bench has none.
type Bath struct {
	Fitted  bool
	OK      bool
	Celsius unit.Celsius
	At      unit.Seconds
}

// Pace is what is known of the link's speed.
type Pace uint8

// The zero Pace is that of a link that carries its tick.
const (
	PaceKept Pace = iota
	PaceUnmeasured
	PaceTooSlow
)

// Input is everything that a step decides from. Times are seconds of one
// monotonic clock.
type Input struct {
	Now       unit.Seconds
	Event     Event
	Interlock Interlock
	Reading   Reading
	Held      Held
	Bath      Bath

	EmergencyStop EmergencyStop
	Ventilation   Ventilation
	Contactor     Contactor
	Meter         Meter

	Link     fault.Code   // what the driver found this tick: supply-silent is judged here from age, so one of supply-out-of-step, supply-disobeys, supply-tripped, supply-restarted, or ""
	Looked   unit.Seconds // when all answers were in or given up, where that was after Now; 0: at Now
	Pace     Pace         // whether the link carries a tick
	Durable  bool         // the intent row of this run is on the disk
	NoRecord bool         // the journal cannot take a run: refuse
	TimerOff bool         // the bench has a lost-host timer in its supply, and it is not confirmed to be armed
	BrownOut bool         // the board of this computer reports under-voltage
	LidFirst bool         // the start waits for no lid: whoever closes it did not ask for volts
}

// Command is what the bench shall do after a step. The Station carries it out in
// the order: off, limit down, setpoint down, limit up, setpoint up, on.
type Command struct {
	State    State
	On       bool         // the output shall be on
	Close    bool         // the contactor shall be held closed: pulse it at the end of the tick
	Set      unit.Volts   // setpoint
	Limit    unit.Amperes // current limit
	Intent   bool         // write the intent row, then say Durable
	Question fault.Code   // the open question, "" for none
	Trip     fault.Code   // first cause, latched; "" for none
	Also     fault.Set    // later trips of the same stop
	Reasons  Reasons      // of a refusal, or what checking or an acknowledgement still waits for
	T        unit.Seconds // since the first energised second; 0 before
	Stage    int
	ByEye    bool
	ByTime   fault.Code // target-not-reached or end-not-reached where time ran out
	Progress float64    // 0 to 1
	Rejected Event      // an event that meant nothing here and changed nothing
}

// Reasons is a set of what keeps a run from starting.
type Reasons uint32

// The items of positive evidence that energising needs, each missing.
const (
	LidNotCycled     Reasons = 1 << iota // not seen open and closed since the last run
	LidOpen                              // a channel is open
	InterlockUnread                      // no fresh reading of the interlock
	SupplyUnread                         // no fresh reading of volts and amperes
	SupplyNotHeld                        // setpoint, limit and output were not read back
	OutputNotOff                         // the output is not read back as off
	LimitsNotTaken                       // the supply does not hold what was asked
	CurrentNotZero                       // current flows with the output off
	VoltsNotZero                         // the cell is not discharged
	BathUnread                           // the bath thermometer does not answer
	BathOutside                          // the bath is outside the profile's window
	RecordNotReady                       // the journal cannot take the run
	CurrentTooCoarse                     // the current reading is too coarse for the end
	BeyondSupply                         // the plan asks for more than the supply has
	SupplyFault                          // the supply reported a fault
	LidWaitOver                          // three minutes passed without the lid
	ChannelsDisagree                     // the two channels of the lid switch disagree
	StopPressed                          // the emergency stop is pressed, or not to be believed
	ContactorUnread                      // the mirror contact does not answer
	ContactorNotOpen                     // the contactor is not seen open without pulses
	ContactorFault                       // the contactor is not where it was sent
	LinkUnmeasured                       // it is not known yet how long the traffic of a tick takes
	MeterUnread                          // the voltmeter at the cell does not answer
	MeterDisagrees                       // voltmeter and supply disagree with the output off
	LinkTooSlow                          // the traffic of a tick takes too much of the slowest tick
	BelowSupply                          // the plan asks for less than the supply can be set to
	AirUnread                            // no fresh reading of the airflow switch
	AirNotProven                         // the airflow switch has not been closed for a second
	TimerNotArmed                        // the supply's lost-host timer is not confirmed to be armed
	UnderVoltage                         // the board of this computer reports under-voltage
)

// Config is what a machine needs to know of the bench. Constant for its life.
type Config struct {
	VoltStep       unit.Volts
	AmpereStep     unit.Amperes
	HighestVolts   unit.Volts
	HighestAmperes unit.Amperes
	LeastVolts     unit.Volts   // the least setpoint that the supply takes; above 0 it cannot be starved
	LeastAmperes   unit.Amperes // the least current limit that it takes
	Settle         unit.Seconds // a reading younger than this does not judge a new setpoint
	Tick           unit.Seconds
	OneShot        unit.Seconds // how long one pulse holds the contactor; 0: 1 s
	Voltmeter      bool         // an independent one is fitted across the cell
	MeterSettle    unit.Seconds // until it shows a step
}

// Seen is what watch says of the readings so far, handed to the step.
type Seen struct {
	Estimates watch.Estimates
	Trip      fault.Code // what the last reading showed that must end the run
	Suspect   bool       // a fall of the current is being judged: nothing counts as an end
	Missing   bool       // a part hangs without contact, as the good loads of the rack tell
	Probe     bool       // half the current limit is asked for, for a second
}
