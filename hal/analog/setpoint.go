package analog

import (
	"context"
	"errors"
	"fmt"
	"math"

	"anodized/hal"
	"anodized/hal/analog/chip"
	"anodized/hal/unit"
)

// input is a program input and what it was told.
type input struct {
	Program
	set    bool // a value of ours was taken, and nothing failed since
	asked  int  // the code of that value
	pin    int  // the code that the pin should have: asked, or 0 after a Halt
	unsure bool // a write may be under way that nobody waits for
}

// SetVoltage sets the voltage and returns what the converter then holds.
func (s *Supply) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	if err := inRange("voltage", float64(v), float64(s.limits.HighestVolts), "V"); err != nil {
		return unit.Volts(math.NaN()), err
	}
	held, err := s.program(ctx, s.volts, float64(v))
	if err != nil {
		return unit.Volts(math.NaN()), fmt.Errorf("set the voltage to %v V: %w", float64(v), err)
	}
	return unit.Volts(held), nil
}

// SetCurrent sets the current limit and returns what the converter then holds. A
// fixed limit can be asked for and nothing else: more is out of range, less refused.
func (s *Supply) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	if err := inRange("current limit", float64(a), float64(s.limits.HighestAmperes), "A"); err != nil {
		return unit.Amperes(math.NaN()), err
	}
	if s.amperes == nil {
		return s.fixed(a)
	}
	held, err := s.program(ctx, s.amperes, float64(a))
	if err != nil {
		return unit.Amperes(math.NaN()), fmt.Errorf("set the current limit to %v A: %w", float64(a), err)
	}
	return unit.Amperes(held), nil
}

func inRange(name string, value, highest float64, symbol string) error {
	if !(value >= 0 && value <= highest) {
		return fmt.Errorf("set the %s to %v %s: %w: 0 to %v %s are allowed", name, value, symbol, hal.ErrRange, highest, symbol)
	}
	return nil
}

func (s *Supply) fixed(a unit.Amperes) (unit.Amperes, error) {
	fixed := s.o.FixedAmperes
	if s.fixedSet = float64(a) >= float64(fixed)*(1-grace); !s.fixedSet {
		return unit.Amperes(math.NaN()), fmt.Errorf("set the current limit to %v A: %w: it is fixed at %v A; turn it down at the panel and write the new value into the bench file", float64(a), hal.ErrRefused, float64(fixed))
	}
	return fixed, nil
}

func (s *Supply) program(ctx context.Context, in *input, value float64) (float64, error) {
	if err := s.own(); err != nil {
		return 0, err
	}
	defer s.disown()
	in.set = false
	code := in.code(value)
	if err := in.apply(ctx, code); err != nil {
		return 0, err
	}
	in.set, in.asked = true, code
	return in.held(code), nil
}

// apply brings a code to the pin and reads it back where that is possible.
func (in *input) apply(ctx context.Context, code int) error {
	in.pin, in.unsure = code, true
	err := in.exchange(ctx, code)
	in.unsure = err != nil
	return err
}

func (in *input) exchange(ctx context.Context, code int) error {
	held, err := ask(ctx, in.Lane, func(ctx context.Context) (int, error) { return writeAndRead(ctx, in.Output, code) })
	if err == nil && held != code {
		err = fmt.Errorf("%s: %w: code %d was written, it holds %d, which is %.4g", in.Output, hal.ErrMismatch, code, held, in.held(held))
	}
	return err
}

// writeAndRead does not write once its time is over.
func writeAndRead(ctx context.Context, output chip.Output, code int) (int, error) {
	if err := output.Write(code); err != nil {
		return 0, err
	}
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	held, err := output.Read()
	if errors.Is(err, chip.ErrWriteOnly) {
		return code, nil
	}
	return held, err
}
