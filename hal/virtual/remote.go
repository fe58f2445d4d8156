package virtual

import (
	"math"
	"strings"
	"time"

	"anodized/hal"
	"anodized/hal/virtual/scpiserver"
)

const (
	lostHostDefault = 60.0 // s
	leastSlew       = 0.1  // V/s
	mostSlew        = 500  // V/s
	safetyMargin    = 1.1  // of the highest values, the rest value of the trips
)

// remote is what a protocol reaches of the supply. It exists inside [Bench.Exchange] only.
type remote struct{ b *Bench }

// Source is the supply behind a SCPI instrument. Its methods must be called
// inside [Bench.Exchange].
func (b *Bench) Source() scpiserver.Source { return remote{b} }

// Exchange moves the clock to a time since [Epoch] and then lets do work on the
// bench, while nobody else does.
func (b *Bench) Exchange(now time.Duration, do func()) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.catchUp(now)
	do()
	b.settle(b.body.Seconds())
}

func (r remote) Identity() string {
	id := r.b.identity()
	return strings.Join([]string{id.Maker, id.Model, id.Serial, id.Firmware}, ",")
}

func (r remote) Ratings() scpiserver.Ratings {
	s := &r.b.setup
	volts, amperes := float64(s.HighestVolts), float64(s.HighestAmperes)
	return scpiserver.Ratings{Volts: volts, Amperes: amperes, Overvoltage: safetyMargin * volts,
		Overcurrent: safetyMargin * amperes, LeastSlew: leastSlew, MostSlew: mostSlew, Slew: s.Parameters.Output.Slew}
}

func (r remote) Settings() scpiserver.Settings {
	held := &r.b.registers
	return scpiserver.Settings{Volts: held.set, Amperes: held.limit, Overvoltage: held.protection,
		Overcurrent: held.overcurrent, OvercurrentArmed: held.overcurrentArmed, TripDelay: held.tripDelay,
		Slew: r.b.body.Slew(), LostHost: held.lostHost, LostHostSeconds: held.lostHostAfter, Output: held.output}
}

func (r remote) SetVolts(volts float64)     { r.b.setVolts(volts) }
func (r remote) SetAmperes(amperes float64) { r.b.setLimit(amperes) }

func (r remote) SetOvervoltage(volts float64) {
	if !r.b.registers.deaf {
		r.b.registers.protection = volts
	}
}

func (r remote) SetOvercurrent(amperes float64) { r.b.registers.overcurrent = amperes }
func (r remote) ArmOvercurrent(armed bool)      { r.b.registers.overcurrentArmed = armed }
func (r remote) SetTripDelay(seconds float64)   { r.b.registers.tripDelay = seconds }
func (r remote) SetSlew(voltsPerSecond float64) { r.b.body.SetSlew(voltsPerSecond) }

func (r remote) SetLostHost(armed bool, seconds float64) {
	if !r.b.registers.deaf {
		r.b.registers.lostHost, r.b.registers.lostHostAfter = armed, seconds
	}
}

func (r remote) SwitchOutput(on bool) bool {
	r.b.switchOutput(on)
	return !on || r.b.registers.output
}

func (r remote) ClearTrip() { r.b.registers.tripped = "" }

func (r remote) Reset() {
	r.b.switchOutput(false)
	r.b.resetRegisters()
	r.b.command()
}

func (r remote) Measure() (volts, amperes float64) {
	if r.b.link.noReading {
		return math.NaN(), math.NaN()
	}
	reading := r.b.reading()
	return reading.Volts, reading.Amperes
}

func (r remote) Condition() scpiserver.Condition {
	mode, trip := r.b.mode(), r.b.registers.tripped
	return scpiserver.Condition{On: mode != hal.ModeOff, Limited: mode == hal.ModeConstantCurrent,
		Unregulated: mode == hal.ModeUnregulated, Overvoltage: trip == overVoltage, Overcurrent: trip == overCurrent,
		Overtemperature: trip == overTemperature, Silent: trip == lostHost}
}

func (r remote) Heard() { r.b.registers.heardAt = r.b.body.Seconds() }

func (r remote) PoweredOn() bool {
	was := r.b.registers.restarted
	r.b.registers.restarted = false
	return was
}

func (r remote) OwnErrors() []int {
	own := r.b.registers.errors
	r.b.registers.errors = nil
	return own
}

func (r remote) Panel(locked bool) { r.b.registers.panelLocked = locked }
func (r remote) PanelLocked() bool { return r.b.registers.panelLocked }
