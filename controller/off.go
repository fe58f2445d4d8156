package controller

import (
	"context"
	"errors"

	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/hal"
)

// offNow is the off path inside the loop: it keeps what came of it.
func (s *Station) offNow() error {
	o := &s.owner
	err := s.supplyOff()
	o.onSent = false
	if err != nil {
		o.output, o.input.Held.OK = process.OutputUnknown, false
		o.forget()
		if !o.offFailed {
			s.log.Error("off is not confirmed: the output counts as on", "error", err)
		}
	} else {
		o.output, o.outputAt, o.lowered = process.OutputOff, o.input.Now, false
		o.input.Held.Output = process.OutputOff
	}
	o.offFailed = err != nil
	return err
}

// off drops the contactor and switches the supply off. Its context is its own, so
// nothing that was cancelled or is blocked elsewhere can stop it; neither of the
// two waits for the other to succeed.
func (s *Station) off() error {
	dropping := s.startDrop(s.enable.dropAnyway)
	err := s.supplyOff()
	dropped := dropping.wait()
	if s.owner.output = process.OutputUnknown; err == nil {
		s.owner.output = process.OutputOff
	}
	return errors.Join(dropped, err)
}

// supplyOff switches off. A supply that hears that and stays on is starved at once.
func (s *Station) supplyOff() error {
	ctx, cancel := context.WithTimeout(context.Background(), s.offBound)
	defer cancel()
	err := s.devices.Supply.Halt(ctx)
	if err != nil && !lost(err) {
		s.starve()
	}
	return err
}

// starve brings the current limit and then the setpoint to zero, behind an off that was
// not obeyed. It comes after the off and after the contactor, so it delays neither, and
// it is tried again in each tick until off is confirmed, even where the supply says that
// it holds zero. On a link that is not in step the driver does the same, blind. A supply
// that cannot be set to zero is brought to its least once: more of that gives nothing, and
// nobody waits for it.
func (s *Station) starve() {
	if s.owner.lowered {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), s.offBound)
	defer cancel()
	_, amperes := s.devices.Supply.SetCurrent(ctx, 0)
	_, volts := s.devices.Supply.SetVoltage(ctx, 0)
	err := errors.Join(amperes, volts)
	switch {
	case err != nil && !s.owner.offFailed:
		s.log.Error("the supply that does not go off does not take zero either", "error", err)
	case err == nil && !s.limits.Starvable():
		s.owner.lowered = true
		s.log.Error("the supply that does not go off is at its least: pull its plug", "why", s.unstarvable())
	}
}

// unstarvable says of a supply that it cannot be set to nothing.
func (s *Station) unstarvable() string {
	return plan.Unstarvable(s.limits.LeastVolts, s.limits.LeastAmperes)
}

// lost tells whether an error leaves a link on which nothing but off is sent.
func lost(err error) bool {
	return errors.Is(err, hal.ErrTimeout) || errors.Is(err, hal.ErrGone) || errors.Is(err, hal.ErrDesync) ||
		errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded)
}
