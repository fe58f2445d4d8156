package controller

import (
	"context"
	"math"

	"anodized/controller/process"
	"anodized/hal"
	"anodized/hal/unit"
)

// readChainOnce reads the mirror contact, then the emergency stop, then the lid: what
// made a contactor open has happened by then, so that it is told by its own name. It
// breaks off and says so where this computer stood still.
func (s *Station) readChainOnce() (stood bool) {
	return s.readContactor() || s.readStop() || s.readLid()
}

func (s *Station) readLid() (stood bool) {
	if s.options.ClockWaits {
		s.pollLid()
	}
	lid := &s.owner.input.Interlock
	moved := s.enable.look()
	lid.Moved = lid.Moved || moved
	return s.readInterlock()
}

func (s *Station) readContactor() (stood bool) {
	o := &s.owner
	defer s.countBleed()
	if s.devices.Contactor == nil {
		return false
	}
	closed := false
	stood, err := s.askChain(func(ctx context.Context) (err error) {
		closed, err = s.devices.Contactor.Closed(ctx)
		return err
	})
	o.input.Contactor.Fitted, o.input.Contactor.OK = true, err == nil
	o.input.Contactor.Cleared = clears(s.devices.Contactor) && !s.enable.mayBeClosed()
	if err != nil {
		o.errors.Contactor++
		return stood
	}
	o.input.Contactor.Closed, o.input.Contactor.At = closed, o.input.Now
	return false
}

// clears tells whether a drop ends the one-shot at once.
func clears(c hal.Contactor) bool {
	can, is := c.(hal.Clearer)
	return is && can.Clears()
}

// bleedTime is how long the bleed resistor may take: 1 kohm brings even 2,000 cm2 of
// film below 5 V in about 1.3 s (computed, plate capacitor); twice that and more.
const bleedTime unit.Seconds = 3

// countBleed notes since when the contactor is seen open without a gap.
func (s *Station) countBleed() {
	o := &s.owner
	switch {
	case !s.contactorOpen():
		o.openSince = unit.Seconds(math.NaN())
	case math.IsNaN(float64(o.openSince)):
		o.openSince = o.input.Now
	}
}

// bled tells whether the cell has had its time to run down behind an open contactor.
func (s *Station) bled() bool {
	o := &s.owner
	return o.input.Now-o.openSince >= bleedTime-1e-9 // false while it is not a number
}

func (s *Station) readStop() (stood bool) {
	o := &s.owner
	if s.devices.EmergencyStop == nil {
		return false
	}
	contacts, stood, err := s.askContacts(s.devices.EmergencyStop.Contacts)
	o.stopError = err
	if err != nil {
		o.errors.EmergencyStop++
		o.input.EmergencyStop.Fitted, o.input.EmergencyStop.OK = true, false // its time stays: the age tells
		return stood
	}
	o.input.EmergencyStop = process.EmergencyStop{Fitted: true, OK: true, Closed: contacts.Closed, At: o.since(contacts.At)}
	s.moveNow(o.input.EmergencyStop.At)
	return false
}

// live tells whether this very tick saw a closed lid and a released stop. A reading
// of the tick before is good enough to go on with, not to pulse for.
func (s *Station) live() bool {
	in := &s.owner.input
	both := [2]bool{true, true}
	stop := &in.EmergencyStop
	return in.Interlock.OK && !in.Interlock.Moved && in.Interlock.Closed == both && (!stop.Fitted || stop.OK && stop.Closed == both)
}

// opened tells whether something that was read wants the output off now.
func (s *Station) opened() bool {
	in := &s.owner.input
	both := [2]bool{true, true}
	return in.Interlock.Moved || in.Interlock.OK && in.Interlock.Closed != both || in.EmergencyStop.OK && in.EmergencyStop.Closed != both
}
