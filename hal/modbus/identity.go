package modbus

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"anodized/hal"
)

// identityRequest asks for the basic objects of the device identification: maker,
// product code, revision (V1.1b3, 6.21).
var identityRequest = []byte{encapsulated, deviceIdentification, 1, 0}

const identityRetries = 2

// askIdentity asks who is there, where the device can tell.
func (s *Supply) askIdentity(ctx context.Context) (hal.Identity, error) {
	if !s.identifies {
		return hal.Identity{Maker: "unknown", Model: fmt.Sprintf("Modbus unit %d", s.unit)}, nil
	}
	answer, err := s.call(ctx, identityRequest)
	if err != nil {
		return hal.Identity{}, fmt.Errorf("ask the supply who it is: %w", err)
	}
	return parseIdentity(answer)
}

// askPatiently asks again where no answer came in time: one that a busy computer missed
// must not make a supply that tells who it is one that cannot.
func (s *Supply) askPatiently(ctx context.Context) (hal.Identity, error) {
	identity, err := s.askIdentity(ctx)
	for range identityRetries {
		if !errors.Is(err, hal.ErrTimeout) || ctx.Err() != nil {
			break
		}
		if err := s.settled(ctx); err != nil {
			return hal.Identity{}, err
		}
		identity, err = s.askIdentity(ctx)
	}
	return identity, err
}

// parseIdentity reads the objects of an answer.
func parseIdentity(answer []byte) (hal.Identity, error) {
	objects := map[byte]string{}
	rest := answer[7:]
	for range answer[6] {
		if len(rest) < 2 || len(rest) < 2+int(rest[1]) {
			return hal.Identity{}, fmt.Errorf("device identification: %w: % X", errFrame, clip(answer))
		}
		objects[rest[0]] = strings.TrimSpace(string(rest[2 : 2+rest[1]]))
		rest = rest[2+rest[1]:]
	}
	if len(rest) > 0 || objects[0]+objects[1] == "" {
		return hal.Identity{}, fmt.Errorf("device identification: %w: it names nobody", errFrame)
	}
	return hal.Identity{Maker: objects[0], Model: objects[1], Firmware: objects[2]}, nil
}

// recognise compares who answers with who was opened. It is done each time that the
// line was in doubt: a device can be changed on a line that does not break.
func (s *Supply) recognise(ctx context.Context) error {
	identity, err := s.askIdentity(ctx)
	if err == nil && identity != s.identity && s.line.framing == TCP {
		identity, err = s.askAgain(ctx, identity)
	}
	if err != nil {
		return err
	}
	s.stranger = identity != s.identity
	if s.stranger {
		s.soil(hal.ErrGone)
		return fmt.Errorf("%w: another device answers in its place: %v, not %v; reconnect the right one", hal.ErrGone, identity, s.identity)
	}
	s.prove()
	return nil
}

// askAgain asks for a name once more that is not the right one: without a check sum it may
// be the right one, spoilt. A stranger says the same twice.
func (s *Supply) askAgain(ctx context.Context, first hal.Identity) (hal.Identity, error) {
	second, err := s.askIdentity(ctx)
	if err == nil && second != first && second != s.identity {
		err = fmt.Errorf("%w: it called itself %v and then %v", errFrame, first, second)
	}
	return second, err
}

// prove notes on which connection the device said who it is.
func (s *Supply) prove() {
	if s.identifies {
		s.proven = s.made
	}
}
