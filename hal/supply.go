package hal

import (
	"context"
	"time"

	"anodized/hal/unit"
)

// Mode is what regulates the output of a supply.
type Mode uint8

// The zero Mode is ModeUnknown.
const (
	ModeUnknown Mode = iota
	ModeOff
	ModeConstantVoltage
	ModeConstantCurrent
	ModeUnregulated
)

// Sample is one exchange with the supply, so its volts and amperes belong together.
type Sample struct {
	Volts   unit.Volts    // across the output or sense terminals
	Amperes unit.Amperes  // positive into the load
	Mode    Mode          // what regulates, as far as the instrument tells
	At      time.Time     // the middle of the exchange, monotonic
	Took    time.Duration // At is uncertain by half of it
}

// Limits says what a supply and its link can do. Constant after opening.
type Limits struct {
	HighestVolts   unit.Volts
	HighestAmperes unit.Amperes
	LeastVolts     unit.Volts    // the least setpoint that it takes; above 0 it cannot be starved
	LeastAmperes   unit.Amperes  // the least current limit that it takes; likewise
	VoltStep       unit.Volts    // resolution of the voltage setpoint
	AmpereStep     unit.Amperes  // resolution of the current limit
	Settle         time.Duration // a reading younger than this does not judge a new setpoint
	Exchange       time.Duration // the longest time that one exchange may take
	MainsReturn    string        // state of the output after mains return: halted, as_before, energised, unknown
}

// Starvable tells whether both setpoints go down to zero, so that a supply that does not
// obey off can be made to give nothing.
func (l Limits) Starvable() bool { return l.LeastVolts <= 0 && l.LeastAmperes <= 0 }

// Programmer sets limits. Both setters read back and return the value now in
// force, rounded down to the supply's step. A value outside 0..Limits, or NaN, is
// [ErrRange] and nothing is sent. They never energise. While the output may be on
// they ask first what is held: a value that is not the one that they left is
// [ErrLocal], and is not overwritten. Zero is set without asking: it ends something.
// What is held right after a setting, and is neither on the way from the old value to the
// new one, is [ErrStray], and is not overwritten either: the supply clamped it, or a hand
// came in those milliseconds.
// Of a supply whose least is above zero, zero asks for that least, values between are
// [ErrRange], and while the output may be on it never raises what is held: who needs
// zero compares what comes back.
type Programmer interface {
	SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error)
	SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error)
	Limits() Limits
}

// Switch owns the output. Energise fails unless both setters have succeeded since
// the link last became clean. Energised asks and never remembers; an error means
// "assume on". Halt is idempotent, is tried blind on a dirty link before anything is
// asked, followed by both limits at zero, ignores a cancelled context, blocks for two
// exchanges at most, and returns nil only when the supply confirmed that its output
// is off. A link that broke while the output may have been on, and was made anew, is
// told once, by whichever call finds it, as [ErrRelinked].
type Switch interface {
	Energise(ctx context.Context) error
	Energised(ctx context.Context) (bool, error)
	Halt(ctx context.Context) error
}

// Meter measures volts and amperes in one exchange.
type Meter interface {
	Measure(ctx context.Context) (Sample, error)
}

// State is what a supply says of itself when asked: what it holds as setpoints,
// whether its output is on, and whether it restarted or tripped since last asked.
type State struct {
	SetVolts     unit.Volts
	LimitAmperes unit.Amperes
	Output       bool
	Restarted    bool   // the instrument's power-on flag was seen
	Tripped      string // the instrument's own trip in its words, "" for none
	Errors       []string
}

// Checker reads a supply's own state back, for comparison with what was commanded.
type Checker interface {
	Check(ctx context.Context) (State, error)
}

// Identity is what an instrument says it is.
type Identity struct {
	Maker, Model, Serial, Firmware string
}

// Simulated tells whether the instrument says that it is not real.
func (id Identity) Simulated() bool {
	return containsFold(id.Maker+id.Model+id.Serial+id.Firmware, "SIMULATED")
}

// Identifier asks an instrument what it is.
type Identifier interface {
	Identify(ctx context.Context) (Identity, error)
}

// Supply is what the Station needs of every supply.
type Supply interface {
	Programmer
	Switch
	Meter
	Checker
	Identifier
}

// Protector is an optional ability: the supply's own over-voltage trip.
type Protector interface {
	SetOvervoltage(ctx context.Context, v unit.Volts) (unit.Volts, error)
}
