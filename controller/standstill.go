package controller

import (
	"context"
	"time"

	"anodized/hal"
)

// standstill is far beyond what cutting an exchange takes.
const standstill = 200 * time.Millisecond

// readChain reads the chain, and once more where this computer stood still while it did: that
// what was read is old by then, or was not read, is no fault of the devices.
func (s *Station) readChain() {
	if s.readChainOnce() && !s.opened() {
		s.exchange.renew()
		s.wake()
		s.readChainOnce()
	}
}

// askContacts reads two contacts of the chain.
func (s *Station) askContacts(ask func(context.Context) (hal.Channels, error)) (contacts hal.Channels, stood bool, err error) {
	stood, err = s.askChain(func(ctx context.Context) (err error) {
		contacts, err = ask(ctx)
		return err
	})
	return contacts, stood, err
}

// askChain is one exchange with a device of the chain, until the lid of an energised run
// counts as open. It tells whether this computer stood still in one that failed: it ended long
// after it should have been cut.
func (s *Station) askChain(ask func(context.Context) error) (stood bool, err error) {
	ctx := s.exchange.beginUntil(1, s.lidGiveUp())
	err = ask(ctx)
	s.exchange.end()
	o := &s.owner
	if err == nil && o.stoodFor > 0 && s.clock != nil {
		o.woke = o.since(s.clock.Now()) // the next has as much time as this one had
	}
	return err != nil && s.clock != nil && s.exchange.overdue(s.clock.Now()) > standstill, err
}

// wake notes that this computer runs again, and brings the time of the step to now.
func (s *Station) wake() {
	o := &s.owner
	o.woke = o.since(s.clock.Now())
	o.stoodFor = max(o.stoodFor, o.woke-o.at)
	s.moveNow(o.woke)
}

// slept brings the step to now where this computer stood still in an exchange with the supply
// that failed: it is the control that was away, and not the supply that was silent.
func (s *Station) slept() {
	if s.clock != nil && s.exchange.overdue(s.clock.Now()) > standstill {
		s.wake()
	}
}
