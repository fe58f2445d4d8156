package analog

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

// Energise brings the setpoints to the pins, reads them back, and closes the enable
// contact. It refuses unless both were set since the last failure of their bus.
// Where it fails, the supply is halted again.
func (s *Supply) Energise(ctx context.Context) error {
	if err := s.own(); err != nil {
		return err
	}
	defer s.disown()
	if !s.volts.set || !s.currentSet() {
		return fmt.Errorf("switch the output on: %w: voltage and current limit must both be set first", hal.ErrRefused)
	}
	err := s.switchOn(ctx)
	if err == nil {
		s.tripped = ""
		return nil
	}
	if off := s.halt(); off != nil {
		err = fmt.Errorf("%w; and it could not be switched off again: %w", err, off)
	}
	return fmt.Errorf("switch the output on: %w", err)
}

func (s *Supply) currentSet() bool {
	if s.amperes == nil {
		return s.fixedSet
	}
	return s.amperes.set
}

// switchOn limits the current before there are volts.
func (s *Supply) switchOn(ctx context.Context) error {
	inputs := s.inputs()
	for i := len(inputs) - 1; i >= 0; i-- {
		if err := inputs[i].apply(ctx, inputs[i].asked); err != nil {
			inputs[i].set = false
			return err
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := s.o.Enable.Set(true); err != nil {
		return contactError("close", err)
	}
	closed, err := s.o.Enable.Closed()
	switch {
	case err != nil:
		return contactError("ask", err)
	case !closed:
		return fmt.Errorf("close the enable contact: %w: it does not close", hal.ErrMismatch)
	}
	return nil
}

// contactError: whatever its line says, the contact cannot be trusted.
func contactError(doing string, err error) error {
	return fmt.Errorf("%s the enable contact: %w: %w", doing, hal.ErrGone, err)
}

// Energised asks the enable line for its level. An error means "assume on".
func (s *Supply) Energised(context.Context) (bool, error) {
	if err := s.own(); err != nil {
		return true, err
	}
	defer s.disown()
	return s.energised()
}

func (s *Supply) energised() (bool, error) {
	closed, err := s.o.Enable.Closed()
	if err != nil {
		return true, contactError("ask", err)
	}
	return closed, nil
}

// Halt opens the enable contact, then writes zero to every program input, before
// anything else that waits for the bus. It takes 100 ms at most, does not look at
// ctx, and returns nil only where the contact's line is off and every input that can
// be read back holds zero.
func (s *Supply) Halt(context.Context) error {
	if err := s.own(); err != nil {
		return err
	}
	defer s.disown()
	return s.halt()
}

func (s *Supply) halt() error {
	var errs []error
	if err := s.o.Enable.Set(false); err != nil {
		errs = append(errs, contactError("open", err))
	}
	var waiting []<-chan outcome[int]
	for _, in := range s.inputs() {
		in.pin = 0
		waiting = append(waiting, demand(in.Lane, func(ctx context.Context) (int, error) { return writeAndRead(ctx, in.Output, 0) }))
	}
	timer := time.NewTimer(Longest)
	defer timer.Stop()
	for i, done := range waiting {
		errs = append(errs, zeroed(s.inputs()[i], done, timer))
	}
	errs = append(errs, s.contactIsOpen())
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("switch the output off: %w", err)
	}
	return nil
}

// zeroed waits for the word that an input is zero. Without it, the input has to be
// set again before it counts.
func zeroed(in *input, done <-chan outcome[int], timer *time.Timer) error {
	err := in.Lane.late(context.Background())
	select {
	case o := <-done:
		err = o.err
		if err == nil && o.value != 0 {
			err = fmt.Errorf("%s: %w: zero was written, it holds %d", in.Output, hal.ErrMismatch, o.value)
		}
	case <-timer.C:
		timer.Reset(0) // for the inputs that are left
	}
	if in.unsure = err != nil; in.unsure {
		in.set = false
	}
	return err
}
