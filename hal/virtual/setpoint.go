package virtual

import (
	"context"
	"fmt"
	"math"

	"anodized/hal"
	"anodized/hal/unit"
)

// left is what was last set and held.
type left struct{ volts, amperes float64 }

// untouched refuses to overwrite what was changed at the panel of a supply that is on.
func (b *Bench) untouched(ours bool, holds, left float64, unit string) error {
	if !ours || !b.registers.output || holds == left {
		return nil
	}
	return fmt.Errorf("%w: the supply holds %v %s, and was left at %v %s", hal.ErrLocal, holds, unit, left, unit)
}

func (s *supply) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	wanted, err := roundDown(float64(v), float64(b.setup.HighestVolts), b.setup.Parameters.Output.VoltStep)
	if err != nil {
		return unit.Volts(math.NaN()), fmt.Errorf("setting %v V: %w: allowed are 0 to %v V", float64(v), err, float64(b.setup.HighestVolts))
	}
	heard, err := s.exchange(ctx, "setting the voltage")
	if err == nil {
		err = b.untouched(s.haveVolts && wanted > 0, b.registers.set, b.left.volts, "V")
		heard = err == nil
	}
	if heard {
		b.setVolts(wanted)
	}
	if err != nil {
		return unit.Volts(math.NaN()), err
	}
	if b.registers.set != wanted {
		s.haveVolts = false // what it is left with is not ours
		return unit.Volts(math.NaN()), fmt.Errorf("setting %v V: %w: the supply holds %v V", wanted, hal.ErrMismatch, b.registers.set)
	}
	s.haveVolts, b.left.volts = true, wanted
	return unit.Volts(wanted), nil
}

func (s *supply) SetCurrent(ctx context.Context, a unit.Amperes) (unit.Amperes, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	wanted, err := roundDown(float64(a), float64(b.setup.HighestAmperes), b.setup.Parameters.Output.AmpereStep)
	if err != nil {
		return unit.Amperes(math.NaN()), fmt.Errorf("setting %v A: %w: allowed are 0 to %v A", float64(a), err, float64(b.setup.HighestAmperes))
	}
	heard, err := s.exchange(ctx, "setting the current limit")
	if err == nil {
		err = b.untouched(s.haveA && wanted > 0, b.registers.limit, b.left.amperes, "A")
		heard = err == nil
	}
	if heard {
		b.setLimit(wanted)
	}
	if err != nil {
		return unit.Amperes(math.NaN()), err
	}
	if b.registers.limit != wanted {
		s.haveA = false
		return unit.Amperes(math.NaN()), fmt.Errorf("setting %v A: %w: the supply holds %v A", wanted, hal.ErrMismatch, b.registers.limit)
	}
	s.haveA, b.left.amperes = true, wanted
	return unit.Amperes(wanted), nil
}

// roundDown rounds to the step below, with a millionth of grace.
func roundDown(value, highest, step float64) (float64, error) {
	if !(value >= 0 && value <= highest) {
		return math.NaN(), hal.ErrRange
	}
	if step <= 0 {
		return value, nil
	}
	n := math.Floor(value/step + 1e-6)
	if inverse := math.Round(1 / step); inverse >= 1 && math.Abs(inverse*step-1) < 1e-9 {
		return n / inverse, nil
	}
	return n * step, nil
}

// SetOvervoltage sets the supply's own over-voltage trip.
func (s *supply) SetOvervoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	b := s.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	most := safetyMargin * float64(b.setup.HighestVolts)
	if !(v > 0 && float64(v) <= most) {
		return unit.Volts(math.NaN()), fmt.Errorf("setting the over-voltage trip to %v V: %w: allowed are above 0 to %v V", float64(v), hal.ErrRange, most)
	}
	heard, err := s.exchange(ctx, "setting the over-voltage trip")
	if heard && !b.registers.deaf {
		b.registers.protection = float64(v)
	}
	if err != nil {
		return unit.Volts(math.NaN()), err
	}
	return unit.Volts(b.registers.protection), nil
}
