package scpi

import (
	"context"
	"fmt"

	"anodized/hal"
	"anodized/hal/unit"
)

// Check asks the supply for its setpoints, its output, its events, its errors and
// its trips. What was seen since the last Check, also while the link was brought
// back into step, is told once.
func (s *Supply) Check(ctx context.Context) (hal.State, error) {
	nothing := hal.State{SetVolts: unit.Volts(nan), LimitAmperes: unit.Amperes(nan), Output: true}
	if err := s.own(); err != nil {
		return nothing, err
	}
	defer s.disown()
	if err := s.ready(ctx); err != nil {
		return nothing, fmt.Errorf("check the supply: %w", err)
	}
	s.answers.events, s.answers.err = 0, InstrumentError{}
	if err := s.exchange(ctx, nil, s.check); err != nil {
		return nothing, fmt.Errorf("check the supply: %w", err)
	}
	s.noteRestart()
	state := hal.State{
		SetVolts: unit.Volts(s.answers.setVolts), LimitAmperes: unit.Amperes(s.answers.setAmperes),
		Output: s.answers.output, Restarted: s.restarted, Tripped: s.trip(),
	}
	if err := s.gatherErrors(ctx); err != nil {
		return nothing, fmt.Errorf("check the supply: empty its error queue: %w", err)
	}
	for _, entry := range s.backlog {
		state.Errors = append(state.Errors, entry.Error())
	}
	if s.dialect.Errors == "esr" && s.answers.events&eventErrors != 0 {
		state.Errors = append(state.Errors, eventWords(s.answers.events))
	}
	s.backlog, s.restarted = nil, false
	return state, nil
}

// gatherErrors empties the queue into the backlog.
func (s *Supply) gatherErrors(ctx context.Context) error {
	if s.answers.err.Number == 0 {
		return nil
	}
	s.backlog = append(s.backlog, s.answers.err)
	rest, err := s.drainErrors(ctx)
	s.backlog = append(s.backlog, rest...)
	return err
}
