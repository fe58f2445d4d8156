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

// carryOut does what the process asked, in the one order that is safe: off first,
// limit down, setpoint down, limit up, setpoint up, on last.
func (s *Station) carryOut(cmd process.Command, stopAsked bool) {
	o := &s.owner
	if !cmd.On && (stopAsked || o.last.On || o.onSent || o.output != process.OutputOff) {
		if s.offNow() != nil {
			return // on a link that is not trusted nothing but off is sent
		}
	}
	if cmd.State == process.Checking && o.last.State != process.Checking {
		o.forget() // a new load: everything is written and read back
		o.protected = false
	}
	for _, step := range []func(process.Command){s.protect, s.lower, s.raise, s.energise} {
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
	ctx := s.exchange.begin(2)
	got, err := send(ctx, want)
	s.exchange.end()
	if errors.Is(err, hal.ErrMismatch) {
		ctx = s.exchange.begin(2)
		got, err = send(ctx, want)
		s.exchange.end()
	}
	if err != nil {
		s.supplyFailed(&s.owner.link, err)
		return false
	}
	*h = held[Q]{known: true, steps: steps, value: got}
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
	if !cmd.On || o.onSent || !s.isProtected() || !o.set.known || !o.limit.known ||
		s.orders.stopping() || !s.contactorClosed() {
		return
	}
	o.onSent = true
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

// contactorClosed tells whether the contactor, where there is one, is seen closed.
func (s *Station) contactorClosed() bool {
	closed, seen := s.contactor()
	return s.devices.Contactor == nil || seen && closed
}

// contactorOpen tells whether there is a contactor and it is seen open.
func (s *Station) contactorOpen() bool {
	closed, seen := s.contactor()
	return seen && !closed
}

func (s *Station) contactor() (closed, seen bool) {
	if s.devices.Contactor == nil {
		return false, false
	}
	ctx := s.exchange.begin(1)
	closed, err := s.devices.Contactor.Closed(ctx)
	s.exchange.end()
	if err != nil {
		s.owner.errors.Contactor++
	}
	return closed, err == nil
}

// offNow is the off path inside the loop: it keeps what came of it.
func (s *Station) offNow() error {
	o := &s.owner
	err := s.off()
	o.onSent = false
	if err != nil {
		o.output, o.input.Held.OK = process.OutputUnknown, false
		o.forget()
		if !o.offFailed {
			s.log.Error("off is not confirmed: the output counts as on", "error", err)
		}
	} else {
		o.output, o.outputAt = process.OutputOff, o.input.Now
		o.input.Held.Output = process.OutputOff
	}
	o.offFailed = err != nil
	return err
}

// off drops the contactor and switches the supply off. Its context is its own, so
// nothing that was cancelled or is blocked elsewhere can stop it; neither of the
// two waits for the other to succeed.
func (s *Station) off() error {
	var dropped error
	if s.devices.Contactor != nil {
		dropped = s.devices.Contactor.Halt()
	}
	ctx, cancel := context.WithTimeout(context.Background(), s.offBound)
	defer cancel()
	return errors.Join(dropped, s.devices.Supply.Halt(ctx))
}

// beat keeps the contactor closed. It is called at the end of a finished tick and
// from nowhere else.
func (s *Station) beat(cmd process.Command) {
	if s.devices.Contactor == nil || !(cmd.On || cmd.Intent) {
		return
	}
	if err := s.devices.Contactor.Beat(); err != nil {
		s.owner.errors.Contactor++
	}
}
