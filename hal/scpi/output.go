package scpi

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal"
)

// Energise switches the output on and confirms that it is. It refuses unless both
// setters have succeeded since the link last became clean. Where it fails after
// the command went out, the output is switched off again, blind if need be.
func (s *Supply) Energise(ctx context.Context) error {
	if err := s.own(); err != nil {
		return err
	}
	defer s.disown()
	if err := s.ready(ctx); err != nil {
		return err
	}
	if !s.voltsSet || !s.amperesSet {
		return fmt.Errorf("switch the output on: %w: voltage and current limit must both be set first, since the link became clean", hal.ErrRefused)
	}
	s.mayBeOn, s.told = true, time.Time{}
	err := s.switchOn(ctx)
	if err == nil {
		return nil
	}
	if off := s.halt(ctx); off != nil {
		err = fmt.Errorf("%w; and it could not be switched off again: %w", err, off)
	}
	return err
}

func (s *Supply) switchOn(ctx context.Context) error {
	if err := s.exchange(ctx, commands.on, s.confirming(itemOutput)); err != nil {
		return fmt.Errorf("switch the output on: %w", err)
	}
	if err := s.refusal(ctx); err != nil {
		return fmt.Errorf("switch the output on: %w", err)
	}
	if !s.answers.output {
		return fmt.Errorf("switch the output on: %w: the supply says it is off; it may have tripped, look at its panel", hal.ErrMismatch)
	}
	return nil
}

// Energised asks whether the output is on. An error means "assume on".
func (s *Supply) Energised(ctx context.Context) (bool, error) {
	if err := s.own(); err != nil {
		return true, err
	}
	defer s.disown()
	if err := s.ready(ctx); err != nil {
		return true, err
	}
	if err := s.exchange(ctx, nil, s.output); err != nil {
		return true, err
	}
	return s.answers.output, nil
}

// Halt switches the output off. It can be called at any time and any number of
// times, does not look at whether ctx is cancelled, takes two exchanges at most,
// and returns nil only when the supply has confirmed that the output is off.
func (s *Supply) Halt(ctx context.Context) error {
	if err := s.own(); err != nil {
		return err
	}
	defer s.disown()
	return s.halt(ctx)
}

func (s *Supply) halt(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*s.haltBudget())
	defer cancel()
	var err error
	for range 2 {
		if err = s.haltOnce(ctx); err == nil {
			return nil
		}
	}
	return fmt.Errorf("switch the output off: %w", err)
}

// haltOnce is one exchange. On a dirty link "off" goes out before anything is read,
// and again to whom the link then turns out to lead.
func (s *Supply) haltOnce(ctx context.Context) error {
	if !s.clean {
		s.haltBlind()
		s.starveBlind()
		if err := s.reach(ctx); err != nil {
			return err
		}
	}
	if err := s.exchange(ctx, commands.off, s.output); err != nil {
		return err
	}
	if s.answers.output {
		return fmt.Errorf("%w: the supply says it is still on; press the emergency stop", hal.ErrMismatch)
	}
	s.mayBeOn = false
	return nil
}

// mayLeave tells whether the connection may be given up for a new one. Not before "off"
// was said on it, and a while longer, while the output may be on: on a new one everybody
// has to say first who it is, and a supply that hears and is silent never would. Where
// only a new connection finds the step again, that ends the run.
func (s *Supply) mayLeave() bool {
	switch {
	case !s.mayBeOn:
		return true
	case s.dialect.Probe != "reopen":
		return !s.told.IsZero() && time.Since(s.told) >= lastWord
	case s.told.IsZero():
		s.haltBlind()
		s.gone = true
	}
	return true
}

// lastWord is how long a connection is kept behind an off that nobody confirmed: what the
// instrument has not read yet of one that is given up may be lost.
const lastWord = 2 * time.Second

// haltBlind sends "off" and waits for nothing. A connection that does not even take it is
// given up in the same time.
func (s *Supply) haltBlind() {
	s.sayBlind(commands.off)
	if s.told.IsZero() && !s.stranger && !s.unproven {
		s.told = time.Now()
	}
}

// starveBlind follows "off" with both limits at zero, for a supply that does not take
// the "off". Nobody answers on a dirty link, so what is said there must do no harm in
// whatever state it is heard: these two can only lower.
func (s *Supply) starveBlind() {
	for _, command := range [][]byte{commands.noAmperes, commands.noVolts} {
		s.link.pause()
		if !s.sayBlind(command) {
			return
		}
	}
}

// sayBlind sends a command and waits for nothing. A line that was cut off is ended
// first. Who has not said who it is hears nothing.
func (s *Supply) sayBlind(command []byte) (sent bool) {
	if s.stranger || s.unproven {
		return false
	}
	line := append([]byte{}, command...)
	if s.link.cut {
		line = append([]byte(s.link.sendEnd), line...)
	}
	line = append(line, s.link.sendEnd...)
	err := s.link.setDeadline(time.Now().Add(min(silence, s.dialect.Timeout)))
	if err == nil {
		err = s.link.write(line)
	}
	if err != nil {
		s.log.Warn("switching off blind failed", "command", string(command), "err", err)
		s.gone = s.gone || errors.Is(err, hal.ErrGone)
	}
	return err == nil
}

// haltBudget is the time of one exchange of Halt.
func (s *Supply) haltBudget() time.Duration {
	if s.dialect.Compound && s.dialect.Ack == "" {
		return s.dialect.Timeout + s.dialect.Gap
	}
	return 2 * (s.dialect.Timeout + s.dialect.Gap)
}
