package chip

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// Output is a pin whose volts follow a code: Codes() would make FullScale().
type Output interface {
	// Start makes the pin 0 V, then checks the chip and its power-up state.
	Start(ctx context.Context) error
	// Write takes a code of 0 to Codes()-1. The pin follows at once.
	Write(code int) error
	// Read asks the chip which code it holds. [ErrWriteOnly]: it cannot tell.
	Read() (int, error)
	Codes() int
	FullScale() unit.Volts
	String() string
}

// Input is a pin whose volts are measured.
type Input interface {
	// Start checks that the chip is the right one and answers.
	Start(ctx context.Context) error
	// Read converts once. It waits for the conversion, some milliseconds.
	Read(ctx context.Context) (unit.Volts, error)
	String() string
}

// What a chip can say beside a number.
var (
	ErrSaturated = errors.New("the converter is at the end of its range")
	ErrWriteOnly = errors.New("the chip cannot be read back")
)

// gone wraps what a bus says when a chip does not answer.
func gone(chip fmt.Stringer, doing string, err error) error {
	return fmt.Errorf("%s: %s: %w: %w", chip, doing, hal.ErrGone, err)
}

// inCodes demands a code that the chip has.
func inCodes(o Output, code int) error {
	if code < 0 || code >= o.Codes() {
		return fmt.Errorf("%s: code %d: %w: 0 to %d are allowed", o, code, hal.ErrRange, o.Codes()-1)
	}
	return nil
}

// startAtZero writes zero, and reads it back where the chip can tell.
func startAtZero(o Output) error {
	if err := o.Write(0); err != nil {
		return err
	}
	held, err := o.Read()
	switch {
	case errors.Is(err, ErrWriteOnly):
		return nil
	case err != nil:
		return err
	case held != 0:
		return fmt.Errorf("%s: %w: zero was written, it holds %d", o, hal.ErrMismatch, held)
	}
	return nil
}

// pause waits, or ends with the context.
func pause(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

// until asks again and again, a millisecond apart, until the answer is yes.
func until(ctx context.Context, chip fmt.Stringer, what string, longest time.Duration, ask func() (bool, error)) error {
	for end := time.Now().Add(longest); ; {
		yes, err := ask()
		if yes || err != nil {
			return err
		}
		if !time.Now().Before(end) {
			return fmt.Errorf("%s: %s: %w: not within %v", chip, what, hal.ErrTimeout, longest)
		}
		if err := pause(ctx, time.Millisecond); err != nil {
			return fmt.Errorf("%s: %s: cut off: %w", chip, what, err)
		}
	}
}
