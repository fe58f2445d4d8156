package controller

import (
	"context"
	"errors"
	"fmt"
	"math"

	"anodized/controller/process"
	"anodized/hal"
	"anodized/hal/unit"
)

// carryOut does what the process asked, in the one order that is safe: the contactor
// dropped and the output off first,
// limit down, setpoint down, limit up, setpoint up, on last.
func (s *Station) carryOut(cmd process.Command, stopAsked bool) {
	o := &s.owner
	if !cmd.Close {
		s.letGo()
	}
	if !cmd.On && (stopAsked || o.last.On || o.onSent || o.output != process.OutputOff) {
		if s.offNow() != nil {
			return // nothing is raised behind an off that was not obeyed, or not answered
		}
	}
	if cmd.State == process.Checking && o.last.State != process.Checking {
		o.forget() // a new load: everything is written and read back
		o.protected = false
		o.timer, o.timerError = timerUnknown, nil
	}
	for _, step := range []func(process.Command){s.protect, s.arm, s.lower, s.raise, s.energise, s.disarm} {
		if o.troubled {
			return // one failed exchange a tick: the next could only make this tick late
		}
		step(cmd)
	}
}

func (s *Station) lower(cmd process.Command) {
	o := &s.owner
	if !o.limit.known || cmd.Limit < o.limit.value {
		s.setLimit(cmd.Limit)
	}
	if !o.set.known || cmd.Set < o.set.value {
		s.setVolts(cmd.Set)
	}
}

func (s *Station) raise(cmd process.Command) {
	o := &s.owner
	if o.limit.known && cmd.Limit > o.limit.value {
		s.setLimit(cmd.Limit)
	}
	if o.set.known && cmd.Set > o.set.value {
		s.setVolts(cmd.Set)
	}
}

func (s *Station) setVolts(v unit.Volts) {
	o := &s.owner
	if program(s, &o.set, v, s.limits.VoltStep, s.devices.Supply.SetVoltage) {
		o.input.Held.Set = o.set.value
	}
}

func (s *Station) setLimit(a unit.Amperes) {
	o := &s.owner
	if program(s, &o.limit, a, s.limits.AmpereStep, s.devices.Supply.SetCurrent) {
		o.input.Held.Limit = o.limit.value
	}
}

// program sends a value that differs from the one in force by a step at least. A
// supply that does not take it is asked once more before that counts.
func program[Q unit.Volts | unit.Amperes](s *Station, h *held[Q], want, step Q, send func(context.Context, Q) (Q, error)) bool {
	steps := inSteps(want, step)
	if h.known && h.steps == steps {
		return true
	}
	ctx := s.exchange.beginUntil(2, s.giveUp())
	got, err := send(ctx, want)
	s.exchange.end()
	if errors.Is(err, hal.ErrMismatch) {
		ctx = s.exchange.beginUntil(2, s.giveUp())
		got, err = send(ctx, want)
		s.exchange.end()
	}
	if err != nil {
		another := errors.Is(err, hal.ErrLocal) || errors.Is(err, hal.ErrStray)
		if !another || !s.explained() {
			s.supplyFailed(&s.owner.link, err)
		}
		return false
	}
	*h = held[Q]{known: true, steps: steps, value: got}
	return true
}

// explained asks a supply that does not hold what it was left with, or set to, for a restart
// or a trip of its own, which say better what happened.
func (s *Station) explained() bool {
	ctx := s.exchange.beginUntil(4, s.giveUp())
	state, err := s.devices.Supply.Check(ctx)
	s.exchange.end()
	if err != nil || !state.Restarted && state.Tripped == "" {
		return false
	}
	s.owner.troubled = true
	s.takeState(&s.owner.link, state)
	return true
}

// inSteps counts whole steps as a driver does: rounded down, with a grace of a
// millionth of a step for binary fractions (1.15 V is 115 steps of 0.01 V).
func inSteps[Q unit.Volts | unit.Amperes](want, step Q) int64 {
	if !(step > 0) {
		step = 1e-6
	}
	return int64(math.Floor(float64(want)/float64(step) + 1e-6))
}

// energise switches on, once. A supply that fails to is switched off at once: it
// is not known what it did.
func (s *Station) energise(cmd process.Command) {
	o := &s.owner
	if !cmd.On || o.onSent || !s.isProtected() || s.unarmed() || !o.set.known || !o.limit.known ||
		s.orders.stopping() || !s.contactorClosed() {
		return
	}
	o.onSent, o.lowered = true, false
	s.enable.energised.Store(true) // a lid that moves from here on is in a hurry
	ctx := s.exchange.begin(2)
	err := s.devices.Supply.Energise(ctx)
	s.exchange.end()
	if err == nil {
		o.output, o.outputAt = process.OutputOn, o.input.Now
		o.input.Held.Output = process.OutputOn
		return
	}
	o.output = process.OutputUnknown
	s.supplyFailed(&o.link, fmt.Errorf("switch the output on: %w", err))
	if s.offNow() != nil {
		s.log.Error("the output did not go on as asked, and off is not confirmed")
	}
}

// contactorClosed tells whether the contactor, where there is one, was seen closed
// in this tick.
func (s *Station) contactorClosed() bool {
	in := &s.owner.input.Contactor
	return s.devices.Contactor == nil || in.OK && in.Closed
}

// contactorOpen tells whether there is a contactor and this tick saw it open.
func (s *Station) contactorOpen() bool {
	in := &s.owner.input.Contactor
	return s.devices.Contactor != nil && in.OK && !in.Closed
}

// letGo drops the contactor where the process does not want it closed. Nothing
// stands before it, and it holds up nothing behind it.
func (s *Station) letGo() {
	o := &s.owner
	if !s.enable.mayBeClosed() || o.dropping.pending() {
		return // it is open, or on its way
	}
	o.dropping = s.startDrop(s.enable.dropAnyway)
	if !o.dropping.pending() && o.dropping.err == nil {
		return
	}
	o.errors.Contactor++
	if o.dropping.pending() {
		s.log.Error("the contactor has not confirmed its drop: the supply is switched off meanwhile")
		return
	}
	s.log.Error("the contactor does not take the drop", "error", o.dropping.err)
}

// beat keeps the contactor closed. It is called at the end of a finished tick that
// saw a closed lid, and from nowhere else.
func (s *Station) beat(cmd process.Command) {
	s.enable.energised.Store(cmd.On)
	if !cmd.Close || !s.live() {
		return
	}
	if err := s.enable.beat(); err != nil {
		s.owner.errors.Contactor++
	}
}
