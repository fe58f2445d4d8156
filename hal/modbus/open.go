package modbus

import (
	"context"
	"errors"
	"fmt"

	"anodized/hal"
)

// OpenSupply takes over a supply. The first bytes that it sends switch the output off;
// then it confirms that, asks who is there where it can, reads every register of the
// map once, and leaves both setpoints at their least.
func OpenSupply(ctx context.Context, o SupplyOptions) (*Supply, error) {
	if o.Line == nil {
		return nil, errors.New("open the supply: no line was given")
	}
	s, err := newSupply(o)
	if err != nil {
		return nil, err
	}
	for _, step := range []func(context.Context) error{s.firstContact, s.tryLoopback, s.introduce, s.explore} {
		if err := step(ctx); err != nil {
			return nil, fmt.Errorf("open the supply: %w", err)
		}
	}
	if s.line.framing == RTU && !s.loopback && s.unusual == nil {
		s.log.Warn("no question to this supply has a new answer: after a lost answer the line is left silent for two time-outs; loopback: true would do better, where the supply knows function 08")
	}
	s.gone, s.restarted = false, false
	s.log.Info("supply open", "maker", s.identity.Maker, "model", s.identity.Model, "unit", s.unit, "loopback", s.loopback)
	return s, nil
}

// firstContact is an ordinary "off": nothing was asked yet, so nothing late can come.
func (s *Supply) firstContact(ctx context.Context) error {
	if err := s.ready(ctx); err != nil {
		return err
	}
	s.clean = true
	if err := s.halt(ctx); err != nil {
		return fmt.Errorf("%w; look at address, unit, baud and parity, and at output in the map", err)
	}
	return ctx.Err()
}

func (s *Supply) tryLoopback(ctx context.Context) error {
	if !s.loopback {
		return nil
	}
	if _, err := s.call(ctx, s.probe()); err != nil {
		return fmt.Errorf("loopback: %w; write loopback: false where the supply does not know function 08", err)
	}
	return nil
}

// introduce asks who is there. A supply that refuses or keeps silent has no identity
// but its unit number.
func (s *Supply) introduce(ctx context.Context) error {
	identity, err := s.askPatiently(ctx)
	switch {
	case err == nil:
	case errors.Is(err, hal.ErrGone) || ctx.Err() != nil:
		return err
	default:
		s.log.Warn("the supply does not tell who it is: another one in its place would not be noticed", "err", err)
		s.identifies = false
		if err := s.settled(ctx); err != nil {
			return err
		}
		identity, err = s.askIdentity(ctx)
		if err != nil {
			return err
		}
	}
	s.identity, s.known = identity, true
	s.prove()
	return nil
}

// explore reads everything once, with the output off, so that what is not there is
// found now.
func (s *Supply) explore(ctx context.Context) error {
	for _, b := range s.all {
		if _, err := fetch(ctx, s.call, []block{b}); err != nil {
			return fmt.Errorf("map: read %d of table %s from address %d on: %w", b.count, b.table, b.address, err)
		}
	}
	if err := s.write(ctx, s.least()...); err != nil {
		return fmt.Errorf("set voltage and current to their least: %w", err)
	}
	return nil
}
