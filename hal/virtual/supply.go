package virtual

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// supply is the bench's supply as a device in memory. Calls take no simulated time.
type supply struct {
	bench            *Bench
	haveVolts, haveA bool    // both limits were set since the link became clean
	astray           bool    // the last answer was spoilt
	since            float64 // s of the bench, of the first of those in a row
}

// errSpoilt is an answer of which nothing can be used: no reading, and the next one may
// be one.
var errSpoilt = fmt.Errorf("not an answer to what was asked, so %w", hal.ErrNoReading)

// stepSeconds is how long a link may be looked for its step.
const stepSeconds = 1.0

// Supply is the supply of the bench. It also has hal.Protector, and hal.LostHostTimer where
// its setup says so.
func (b *Bench) Supply() hal.Supply {
	if b.setup.LostHost > 0 {
		return timed{&b.supply}
	}
	return &b.supply
}

const exchangeTakes = 5 * time.Millisecond

func (s *supply) Limits() hal.Limits {
	setup := &s.bench.setup
	out := &setup.Parameters.Output
	return hal.Limits{HighestVolts: setup.HighestVolts, HighestAmperes: setup.HighestAmperes,
		VoltStep: unit.Volts(out.VoltStep), AmpereStep: unit.Amperes(out.AmpereStep),
		Settle:   time.Duration(setup.Parameters.Meter.Settle * float64(time.Second)),
		Exchange: exchangeTakes, MainsReturn: "halted"}
}

// exchange is one question and answer; heard tells whether the supply got it.
func (s *supply) exchange(ctx context.Context, doing string) (heard bool, err error) {
	if err := ctx.Err(); err != nil {
		s.spoil()
		return false, fmt.Errorf("%s: %w", doing, err)
	}
	heard, cause := s.bench.link.carries()
	if heard {
		s.bench.registers.heardAt = s.bench.body.Seconds()
	}
	cause = s.inStep(cause)
	if cause != nil {
		s.spoil()
		s.bench.spend(heard, spoilers()...)
		return heard, fmt.Errorf("%s: %w", doing, cause)
	}
	return true, nil
}

// inStep makes spoilt answers that go on for a second a link that has lost its step, as
// the drivers do, who look for it meanwhile.
func (s *supply) inStep(cause error) error {
	now, first := s.bench.body.Seconds(), !s.astray
	s.astray = errors.Is(cause, errSpoilt)
	if first {
		s.since = now
	}
	if s.astray && now-s.since >= stepSeconds-1e-9 {
		return hal.ErrDesync
	}
	return cause
}

func (s *supply) spoil() { s.haveVolts, s.haveA = false, false }

func (l *link) carries() (heard bool, cause error) {
	switch {
	case l.gone:
		return false, fmt.Errorf("%w: check its cable and its power", hal.ErrGone)
	case l.silent, l.late > 0:
		return true, hal.ErrTimeout
	case l.cut:
		return true, hal.ErrTimeout // the end is waited for
	case l.garbage, l.doubled, l.merged:
		return true, errSpoilt
	}
	return true, nil
}

func (s *supply) Energise(ctx context.Context) error {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if !s.haveVolts || !s.haveA {
		return fmt.Errorf("switching the output on: %w: set voltage and current first", hal.ErrRefused)
	}
	heard, err := s.exchange(ctx, "switching the output on")
	if heard {
		b.switchOutput(true)
	}
	if err != nil {
		return err
	}
	if b.registers.tripped != "" {
		return fmt.Errorf("switching the output on: %w: %s", hal.ErrTripped, b.registers.tripped)
	}
	return nil
}

func (s *supply) Energised(ctx context.Context) (bool, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, err := s.exchange(ctx, "asking whether the output is on"); err != nil {
		return true, err
	}
	return b.registers.output, nil
}

func (s *supply) Halt(context.Context) error {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	heard, err := s.exchange(context.Background(), "switching the output off")
	if heard {
		b.switchOutput(false)
	}
	if err == nil && b.registers.output {
		err = fmt.Errorf("switching the output off: %w: it stays on", hal.ErrMismatch)
	}
	return err
}
