package controller

import "anodized/hal"

// changes returns where an interlock tells that it moved, nil where it cannot.
func changes(lid hal.Interlock) <-chan struct{} {
	if changer, can := lid.(hal.Changer); can {
		return changer.Changed()
	}
	return nil
}

// watchLid drops the contactor as soon as the lid switch moves, also while the
// owner waits for an answer. It is the second goroutine that may touch an output,
// and it can do nothing but de-energise.
func (s *Station) watchLid(moved <-chan struct{}, done <-chan struct{}) {
	for {
		select {
		case <-done:
			return
		case <-moved:
			s.jolt()
		}
	}
}

// jolt drops the contactor and ends the exchange that an energised owner waits for.
func (s *Station) jolt() {
	if dropping := s.startDrop(s.enable.jolt); dropping.pending() {
		s.log.Error("the contactor has not confirmed its drop: the supply is switched off meanwhile")
	} else if err := dropping.err; err != nil {
		s.log.Error("the contactor does not take the drop", "error", err)
	}
	if s.enable.energised.Load() {
		s.hasten()
	}
}

// hasten brings the owner to its off path: neither the exchange under way nor the next
// tick is waited for.
func (s *Station) hasten() {
	s.exchange.interrupt()
	if pacer, can := s.pacer.(Hastener); can && !s.options.ClockWaits {
		pacer.Hasten()
	}
}

// pollLid does the same from the owner, where the clock is simulated: the same seed
// must give the same run.
func (s *Station) pollLid() {
	select {
	case <-s.lidMoves:
		s.jolt()
		s.exchange.renew()
	default:
	}
}

// watching starts the second goroutine where the lid switch can call it, and
// returns what ends it and has it ended.
func (s *Station) watching() (end func()) {
	if s.lidMoves == nil || s.options.ClockWaits {
		return func() {}
	}
	done, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		s.watchLid(s.lidMoves, done)
	}()
	return func() { close(done); <-ended }
}
