package scpi

import (
	"context"
	"fmt"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// leastPlausible is the lowest reading that can be one, in V or A; the highest is
// mostPlausible times the highest setting.
const (
	leastPlausible = -2
	mostPlausible  = 1.2
)

var noSample = hal.Sample{Volts: unit.Volts(nan), Amperes: unit.Amperes(nan)}

// Measure reads volts, amperes and the regulation in one exchange.
func (s *Supply) Measure(ctx context.Context) (hal.Sample, error) {
	if err := s.own(); err != nil {
		return noSample, err
	}
	defer s.disown()
	if err := s.ready(ctx); err != nil {
		return noSample, err
	}
	asked := time.Now()
	if err := s.exchange(ctx, nil, s.measure); err != nil {
		return noSample, fmt.Errorf("measure: %w", err)
	}
	took := time.Since(asked)
	if err := s.plausible(); err != nil {
		s.soil(err)
		return noSample, fmt.Errorf("measure: %w", err)
	}
	return hal.Sample{
		Volts: unit.Volts(s.answers.volts), Amperes: unit.Amperes(s.answers.amperes),
		Mode: s.mode(), At: asked.Add(took / 2), Took: took,
	}, nil
}

// plausible refuses what this supply cannot have measured: it may be the answer to
// another question.
func (s *Supply) plausible() error {
	volts, amperes := s.answers.volts, s.answers.amperes
	if volts < leastPlausible || volts > mostPlausible*float64(s.limits.HighestVolts) {
		return fmt.Errorf("%w: %v V is outside -2 V to %v times the highest voltage", hal.ErrNoReading, volts, mostPlausible)
	}
	if amperes < leastPlausible || amperes > mostPlausible*float64(s.limits.HighestAmperes) {
		return fmt.Errorf("%w: %v A is outside -2 A to %v times the highest current", hal.ErrNoReading, amperes, mostPlausible)
	}
	return nil
}
