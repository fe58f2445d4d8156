package scpi

import (
	"context"
	"fmt"
	"strings"

	"anodized/hal"
)

// mostGreeting is how many lines may come before an identity on a link in doubt.
const mostGreeting = 10

var identityQuery = []byte("*IDN?")

// Identify asks the instrument what it is.
func (s *Supply) Identify(ctx context.Context) (hal.Identity, error) {
	if err := s.own(); err != nil {
		return hal.Identity{}, err
	}
	defer s.disown()
	if err := s.ready(ctx); err != nil {
		return hal.Identity{}, err
	}
	return s.askIdentity(ctx, 0)
}

// askIdentity reads whole lines: an identity is free text, and may hold semicolons
// and quotes. With a patience above zero that many lines which are no identity are
// dropped before it: a greeting on a new connection, late answers on an old one.
func (s *dialogue) askIdentity(ctx context.Context, patience int) (hal.Identity, error) {
	stop := s.interruptible(ctx)
	identity, err := s.readIdentity(ctx, patience)
	stop()
	if err != nil {
		err = fmt.Errorf("ask the %s who it is: %w", s.name, err)
		s.soil(err)
	}
	return identity, err
}

func (s *dialogue) readIdentity(ctx context.Context, patience int) (hal.Identity, error) {
	if err := s.begin(ctx, identityQuery); err != nil {
		return hal.Identity{}, err
	}
	for {
		line, err := s.link.readLine(false)
		if err != nil {
			return hal.Identity{}, err
		}
		identity, err := ParseIdentity(line)
		if err == nil || patience == 0 {
			return identity, err
		}
		patience--
	}
}

// ParseIdentity reads an answer of *IDN?: maker, model, serial number, firmware,
// separated by commas. The firmware may be missing and may hold commas.
func ParseIdentity(line []byte) (hal.Identity, error) {
	fields := strings.SplitN(strings.Trim(string(line), " \t\r\n\""), ",", 4)
	if len(fields) < 3 {
		return hal.Identity{}, fmt.Errorf("answer %q: %w: maker, model, serial number and firmware were expected", clip(line), errGarbled)
	}
	fields = append(fields, "")
	for i := range fields {
		fields[i] = strings.TrimSpace(fields[i])
	}
	return hal.Identity{Maker: fields[0], Model: fields[1], Serial: fields[2], Firmware: fields[3]}, nil
}

// recognise compares who answers with who was opened.
func (s *dialogue) recognise(ctx context.Context) error {
	identity, err := s.askIdentity(ctx, mostGreeting)
	if err == nil && s.known && identity != s.identity {
		identity, err = s.askAgain(ctx, identity)
	}
	if err != nil {
		return err
	}
	if !s.known {
		s.identity, s.known = identity, true
	}
	s.stranger, s.unproven = identity != s.identity, false
	if s.stranger {
		return fmt.Errorf("%w: another instrument answers in its place: %v, not %v; reconnect the right one", hal.ErrGone, identity, s.identity)
	}
	return nil
}

// askAgain asks for a name once more that is not the right one: it has no check sum, so it
// may be the right one, spoilt. A stranger says the same twice.
func (s *dialogue) askAgain(ctx context.Context, first hal.Identity) (hal.Identity, error) {
	second, err := s.askIdentity(ctx, mostGreeting)
	if err == nil && second != first && second != s.identity {
		err = fmt.Errorf("the %s called itself %v and then %v: %w", s.name, first, second, errGarbled)
	}
	return second, err
}
