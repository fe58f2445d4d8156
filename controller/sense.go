package controller

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal"
	"anodized/hal/unit"
)

const (
	checkEvery unit.Seconds = 1
	checkAgain unit.Seconds = 0.3 // after a check, where a reading looks suspicious
)

// sense reads the devices: the chain first, then the supply, then the slow
// sensors. Where the output must go off at once it asks the supply nothing: no
// exchange may stand before the off path.
func (s *Station) sense() {
	in := &s.owner.input
	s.exchange.renew()
	s.owner.troubled = false
	in.Link, s.owner.link = s.owner.link, ""
	if s.stopped() {
		in.Interlock.OK, in.EmergencyStop.OK = false, false // their times stay, and this tick pulses nothing
	} else {
		in.Interlock.Moved = false
		s.readChain()
	}
	in.Reading, in.Looked = process.Reading{}, 0
	in.TimerOff = s.unarmed()
	in.BrownOut = s.options.UnderVoltage != nil && s.options.UnderVoltage()
	in.Ventilation.Fitted, in.Ventilation.OK = s.devices.Ventilation != nil, false // its time stays: the age tells
	if !s.hurry() {
		s.readSupply()
		s.checkSupply()
		s.readVentilation()
	}
	if s.clock != nil && !in.Reading.OK {
		in.Looked = s.owner.since(s.clock.Now())
	}
	if !s.lidGiveUp().IsZero() && !in.Interlock.OK {
		s.moveNow(s.owner.since(s.clock.Now())) // the age of the lid is that of this moment
	}
	s.readBath()
	s.readMeter()
}

// giveUp is when an energised run has waited long enough for a reading, so that off does
// not stand behind an exchange that could change nothing; zero for no such moment.
func (s *Station) giveUp() time.Time {
	o := &s.owner
	if s.clock == nil || !o.last.On || math.IsInf(float64(o.readAt), -1) {
		return time.Time{}
	}
	until := o.epoch.Add(seconds(o.readAt + process.Silence + giveUpAfter))
	if lid := s.lidGiveUp(); !lid.IsZero() && lid.Before(until) {
		return lid
	}
	return until
}

// lidGiveUp is when the lid of an energised run counts as open unless it is read again,
// whatever is asked meanwhile; zero for no such moment.
func (s *Station) lidGiveUp() time.Time {
	o := &s.owner
	if s.clock == nil || !o.last.On || math.IsInf(float64(o.input.Interlock.At), -1) {
		return time.Time{}
	}
	until := max(o.input.Interlock.At+process.LidAge+giveUpAfter, o.woke+lastChance)
	return o.epoch.Add(seconds(until))
}

// lastChance is what a device of the chain gets to answer in that was not asked because this
// computer stood still: its reading is old by our fault, not by its own.
const lastChance unit.Seconds = 0.06

// lidOverdue tells whether that moment has come.
func (s *Station) lidOverdue() bool {
	until := s.lidGiveUp()
	return !until.IsZero() && !s.clock.Now().Before(until)
}

// giveUpAfter lets the silence be longer than it may be, by the step's own clock.
const giveUpAfter unit.Seconds = 0.005

// stopped tells whether a person has stopped what is on: the lid switch and the emergency
// stop, which may hang on a module that is slow or silent, are then asked after off.
func (s *Station) stopped() bool {
	return s.owner.last.On && !s.options.ClockWaits && s.orders.stopping()
}

// hurry tells whether this tick can only end with the output off.
func (s *Station) hurry() bool {
	return s.orders.stopping() || s.opened() && s.owner.last.On || s.lidOverdue()
}

func (s *Station) readInterlock() (stood bool) {
	o := &s.owner
	channels, stood, err := s.askContacts(s.devices.Interlock.Channels)
	o.lidError = err
	if err != nil {
		o.errors.Interlock++
		o.input.Interlock.OK = false // its time stays: the age tells
		return stood
	}
	lid := &o.input.Interlock
	lid.OK, lid.Closed, lid.At = true, channels.Closed, o.since(channels.At)
	s.moveNow(o.input.Interlock.At)
	o.reclosed.see(channels, lid.Moved, o.last.Trip)
	return false
}

func (s *Station) readSupply() {
	o := &s.owner
	until := s.giveUp()
	if !until.IsZero() && !s.clock.Now().Before(until) {
		return
	}
	ctx := s.exchange.beginUntil(1, until)
	sample, err := s.devices.Supply.Measure(ctx)
	s.exchange.end()
	o.supplyError = err
	if err != nil {
		s.slept()
		s.supplyFailed(&o.input.Link, err)
		return
	}
	if !s.plausible(sample) {
		o.errors.Supply++
		o.supplyError = fmt.Errorf("%w: %.4g V and %.4g A are beyond this supply", hal.ErrNoReading, float64(sample.Volts), float64(sample.Amperes))
		return
	}
	o.input.Reading = process.Reading{OK: true, Volts: sample.Volts, Amperes: sample.Amperes,
		Mode: process.Mode(sample.Mode), At: o.since(sample.At)}
	s.moveNow(o.input.Reading.At)
}

// plausible refuses what no supply of these limits can have measured. A value
// that is not a number fails every comparison.
func (s *Station) plausible(sample hal.Sample) bool {
	volts, amperes := sample.Volts, sample.Amperes
	return volts >= -2 && volts <= 1.2*s.limits.HighestVolts &&
		amperes >= -2 && amperes <= 1.2*s.limits.HighestAmperes
}

// checkSupply asks the supply what it holds: once a second, in each tick that may lead
// to energising, which needs fresh evidence, and soon after a reading that looks as if
// somebody had switched it off.
func (s *Station) checkSupply() {
	o := &s.owner
	if o.troubled {
		s.ageOutput() // a link that is dead tells nothing
		return
	}
	age := o.input.Now - o.checkedAt
	due := age >= checkEvery-unit.Seconds(o.period.Seconds())/2 || s.looksOff() && age >= checkAgain
	if due || o.last.State == process.Checking {
		s.checkNow(&o.input.Link)
	}
}

// looksOff tells whether the reading of this tick is that of an output that is not on,
// although it was sent so.
func (s *Station) looksOff() bool {
	o := &s.owner
	r := &o.input.Reading
	nothing := math.Abs(float64(r.Amperes)) < 2*float64(s.limits.AmpereStep) && r.Volts < o.set.value/2
	return r.OK && o.last.On && o.onSent && (r.Mode == process.ModeOff || nothing && o.set.known)
}

func (s *Station) checkNow(link *fault.Code) {
	o := &s.owner
	ctx := s.exchange.beginUntil(4, s.giveUp())
	state, err := s.devices.Supply.Check(ctx)
	s.exchange.end()
	if err != nil {
		s.slept()
		s.supplyFailed(link, err)
		s.ageOutput()
		return
	}
	o.checkedAt = o.input.Now
	s.takeState(link, state)
}

func (s *Station) takeState(link *fault.Code, state hal.State) {
	o := &s.owner
	o.output, o.outputAt = process.OutputOff, o.input.Now
	if state.Output {
		o.output = process.OutputOn
	}
	o.input.Held = process.Held{OK: true, Set: state.SetVolts, Limit: state.LimitAmperes, Output: o.output, At: o.input.Now, Tripped: state.Tripped != ""}
	switch {
	case state.Tripped != "":
		s.found(link, fault.SupplyTripped, sight{text: "the supply says: " + state.Tripped})
	case state.Restarted:
		o.forget()
		s.found(link, fault.SupplyRestarted, sight{text: "the supply says that it was switched on since it was asked last"})
	case len(state.Errors) > 0:
		s.found(link, fault.SupplyDisobeys, sight{"The supply reports an error.", "the supply reports: " + strings.Join(state.Errors, "; ")})
	case o.last.On && o.onSent && s.turned():
		s.found(link, fault.SupplyTouched, sight{text: s.heldWords()})
	}
}

// turned tells whether the supply holds something else than what it was left with. Only
// what it confirmed itself counts: what was sent into a gap may not have arrived.
func (s *Station) turned() bool {
	o := &s.owner
	held := &o.input.Held
	volts := math.Abs(float64(held.Set-o.set.value)) > 1.5*float64(s.limits.VoltStep)+1e-9
	amperes := math.Abs(float64(held.Limit-o.limit.value)) > 1.5*float64(s.limits.AmpereStep)+1e-9
	return o.set.known && volts || o.limit.known && amperes
}

// ageOutput makes the state of the output unknown when it was not told for two checks.
func (s *Station) ageOutput() {
	if o := &s.owner; o.input.Now-o.outputAt > 2*checkEvery {
		o.output = process.OutputUnknown
	}
}

func (s *Station) readBath() {
	o := &s.owner
	if s.devices.Thermometer == nil {
		return
	}
	ctx := s.exchange.begin(1)
	celsius, at, err := s.devices.Thermometer.Temperature(ctx)
	s.exchange.end()
	o.input.Bath.Fitted = true
	o.input.Bath.OK = err == nil && !math.IsNaN(float64(celsius)) && o.warmth.believes(celsius, o.input.Now, o.last.On)
	if !o.input.Bath.OK {
		o.errors.Thermometer++
		return
	}
	o.input.Bath.Celsius, o.input.Bath.At = celsius, o.since(at)
}

// moveNow keeps the time of a step from being before its readings.
func (s *Station) moveNow(at unit.Seconds) {
	if in := &s.owner.input; at > in.Now {
		in.Now = at
	}
}

// supplyFailed counts a failed exchange and keeps what the process must know of
// it. Silence is no code: the process judges it from the age of the readings.
func (s *Station) supplyFailed(link *fault.Code, err error) {
	s.owner.errors.Supply++
	s.owner.forget()
	s.owner.troubled = true
	if errors.Is(err, context.Canceled) || errors.Is(err, hal.ErrNoReading) {
		return
	}
	if code := linkCode(err); code != "" {
		s.found(link, code, sightOf(err))
	}
}

func (s *Station) found(link *fault.Code, code fault.Code, what sight) {
	if *link == "" {
		s.log.Warn("the supply is not as it should be", "code", code, "why", what.text)
	}
	if _, known := s.owner.seen[code]; !known && s.owner.seen != nil {
		s.owner.seen[code] = what
	}
	*link = fault.First(*link, code)
}

func linkCode(err error) fault.Code {
	switch {
	case errors.Is(err, hal.ErrTripped):
		return fault.SupplyTripped
	case errors.Is(err, hal.ErrRelinked):
		return fault.SupplySilent
	case errors.Is(err, hal.ErrDesync):
		return fault.SupplyOutOfStep
	case errors.Is(err, hal.ErrLocal):
		return fault.SupplyTouched
	case errors.Is(err, hal.ErrMismatch), errors.Is(err, hal.ErrStray), errors.Is(err, hal.ErrRefused), errors.Is(err, hal.ErrRange):
		return fault.SupplyDisobeys
	}
	return "" // ErrTimeout, ErrGone, ErrNoReading: no reading, nothing more
}
