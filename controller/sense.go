package controller

import (
	"context"
	"errors"
	"math"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/hal"
	"anodized/hal/unit"
)

const checkEvery unit.Seconds = 1

// sense reads the devices: the chain first, then the supply, then the slow
// sensors. Where the output must go off at once it asks the supply nothing: no
// exchange may stand before the off path.
func (s *Station) sense() {
	in := &s.owner.input
	s.exchange.renew()
	s.owner.troubled = false
	in.Link, s.owner.link = s.owner.link, ""
	s.readChain()
	in.Reading = process.Reading{}
	if !s.hurry() {
		s.readSupply()
		s.checkSupply()
	}
	s.readBath()
	s.readMeter()
}

// hurry tells whether this tick can only end with the output off.
func (s *Station) hurry() bool {
	return s.orders.stopping() || s.opened() && s.owner.last.On
}

func (s *Station) readInterlock() {
	o := &s.owner
	ctx := s.exchange.begin(1)
	channels, err := s.devices.Interlock.Channels(ctx)
	s.exchange.end()
	if err != nil {
		o.errors.Interlock++
		o.input.Interlock.OK = false // its time stays: the age tells
		return
	}
	lid := &o.input.Interlock
	lid.OK, lid.Closed, lid.At = true, channels.Closed, o.since(channels.At)
	s.moveNow(o.input.Interlock.At)
}

func (s *Station) readSupply() {
	o := &s.owner
	ctx := s.exchange.begin(1)
	sample, err := s.devices.Supply.Measure(ctx)
	s.exchange.end()
	if err != nil {
		s.supplyFailed(&o.input.Link, err)
		return
	}
	if !s.plausible(sample) {
		o.errors.Supply++
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

// checkSupply asks the supply what it holds: once a second, and in each tick that
// may lead to energising, which needs fresh evidence.
func (s *Station) checkSupply() {
	o := &s.owner
	if o.troubled || o.last.State != process.Checking && o.input.Now-o.checkedAt < checkEvery-1e-6 {
		return
	}
	ctx := s.exchange.begin(4)
	state, err := s.devices.Supply.Check(ctx)
	s.exchange.end()
	if err != nil {
		s.supplyFailed(&o.input.Link, err)
		s.ageOutput()
		return
	}
	o.checkedAt = o.input.Now
	s.takeState(state)
}

func (s *Station) takeState(state hal.State) {
	o := &s.owner
	o.output, o.outputAt = process.OutputOff, o.input.Now
	if state.Output {
		o.output = process.OutputOn
	}
	o.input.Held = process.Held{OK: true, Set: state.SetVolts, Limit: state.LimitAmperes, Output: o.output, At: o.input.Now}
	switch {
	case state.Tripped != "":
		s.found(&o.input.Link, fault.SupplyTripped, "the supply has tripped: "+state.Tripped)
	case state.Restarted:
		o.forget()
		s.found(&o.input.Link, fault.SupplyRestarted, "the supply has restarted")
	case len(state.Errors) > 0:
		s.found(&o.input.Link, fault.SupplyDisobeys, "the supply reports: "+state.Errors[0])
	}
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
	o.input.Bath.OK = err == nil && !math.IsNaN(float64(celsius))
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
	if errors.Is(err, hal.ErrNoReading) {
		return // the link is sound
	}
	s.owner.forget()
	s.owner.troubled = true
	if errors.Is(err, context.Canceled) {
		return
	}
	if code := linkCode(err); code != "" {
		s.found(link, code, err.Error())
	}
}

func (s *Station) found(link *fault.Code, code fault.Code, why string) {
	if *link == "" {
		s.log.Warn("the supply is not as it should be", "code", code, "why", why)
	}
	*link = fault.First(*link, code)
}

func linkCode(err error) fault.Code {
	switch {
	case errors.Is(err, hal.ErrTripped):
		return fault.SupplyTripped
	case errors.Is(err, hal.ErrDesync):
		return fault.SupplyOutOfStep
	case errors.Is(err, hal.ErrLocal):
		return fault.SupplyTouched
	case errors.Is(err, hal.ErrMismatch), errors.Is(err, hal.ErrRefused), errors.Is(err, hal.ErrRange):
		return fault.SupplyDisobeys
	}
	return "" // ErrTimeout, ErrGone, ErrNoReading: no reading, nothing more
}
