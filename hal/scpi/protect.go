package scpi

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"anodized/hal"
	"anodized/hal/unit"
)

// Protected is a supply that also answers for its own over-voltage trip. It
// satisfies hal.Protector.
type Protected struct{ *Supply }

// WithAbilities returns the supply with the optional abilities that it was found
// to have at opening, to be discovered by type assertion.
func (s *Supply) WithAbilities() hal.Supply {
	protected, timed := s.dialect.OVP != "none", s.dialect.hasLostHost()
	switch {
	case protected && timed:
		return struct {
			Protected
			lostHost
		}{Protected{s}, lostHost{s}}
	case protected:
		return Protected{s}
	case timed:
		return struct {
			*Supply
			lostHost
		}{s, lostHost{s}}
	}
	return s
}

// SetOvervoltage sets the level of the supply's own over-voltage trip, 0 V to 1.2
// times the highest voltage, and returns what the supply then holds.
func (p Protected) SetOvervoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	s := p.Supply
	highest := mostPlausible * float64(s.limits.HighestVolts)
	if !(v >= 0 && float64(v) <= highest) {
		return unit.Volts(nan), fmt.Errorf("set the over-voltage trip to %v V: %w: 0 to %v V are allowed", float64(v), hal.ErrRange, highest)
	}
	if err := s.own(); err != nil {
		return unit.Volts(nan), err
	}
	defer s.disown()
	if err := s.ready(ctx); err != nil {
		return unit.Volts(nan), err
	}
	return s.setTripLevel(ctx, float64(v))
}

// setTripLevel compares to a step or a tenth of a volt: trip levels are coarser
// than setpoints.
func (s *Supply) setTripLevel(ctx context.Context, volts float64) (unit.Volts, error) {
	command := strconv.AppendFloat([]byte(s.dialect.OVP+" "), roundDown(volts, s.dialect.DecimalsV), 'f', s.dialect.DecimalsV, 64)
	if err := s.exchange(ctx, command, s.confirming(itemTripLevel)); err != nil {
		return unit.Volts(nan), fmt.Errorf("%s: %w", command, err)
	}
	if err := s.refusal(ctx); err != nil {
		return unit.Volts(nan), fmt.Errorf("%s: %w", command, err)
	}
	if math.Abs(s.answers.tripLevel-volts) > max(step(s.dialect.DecimalsV), 0.1) {
		return unit.Volts(nan), fmt.Errorf("%s: %w: the supply holds %v V", command, hal.ErrMismatch, s.answers.tripLevel)
	}
	return unit.Volts(s.answers.tripLevel), nil
}
