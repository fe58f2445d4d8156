package controller

import (
	"sync"
	"sync/atomic"

	"anodized/hal"
)

// enable is the only way to the contactor. Pulses come from the owner, at the end
// of a finished tick whose evidence still stands. Dropping may come from anywhere;
// it waits for nothing but a pulse that is on its way, and nobody who looks waits for it.
type enable struct {
	contactor hal.Contactor // nil where there is none

	talk sync.Mutex // held while the contactor is spoken to

	mu     sync.Mutex
	stands bool // nothing moved since the owner looked last
	moved  bool // since the owner looked last
	pulsed bool // since the last drop that succeeded

	energised atomic.Bool // what the last tick wanted
}

// look begins the evidence of a tick. It tells whether the lid switch moved since
// the tick before; from now on a movement spoils this tick's pulse.
func (e *enable) look() (moved bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	moved, e.moved, e.stands = e.moved, false, true
	return moved
}

// jolt is a movement of the lid switch: the contactor drops, whatever the owner
// does, and stays so until the owner has looked.
func (e *enable) jolt() error {
	e.mu.Lock()
	e.moved, e.stands = true, false
	e.mu.Unlock()
	return e.dropAnyway()
}

// mayBeClosed tells whether a pulse went out since the last drop that succeeded.
func (e *enable) mayBeClosed() bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.pulsed
}

// dropAnyway lets the contactor go, whatever is believed of it.
func (e *enable) dropAnyway() error {
	if e.contactor == nil {
		return nil
	}
	e.talk.Lock()
	defer e.talk.Unlock()
	err := e.contactor.Halt()
	e.mu.Lock()
	e.pulsed = err != nil
	e.mu.Unlock()
	return err
}

// beat gives one edge where the evidence of this tick still stands and no drop is on its
// way.
func (e *enable) beat() error {
	if !e.talk.TryLock() {
		return nil
	}
	defer e.talk.Unlock()
	e.mu.Lock()
	stands := e.contactor != nil && e.stands
	e.pulsed = e.pulsed || stands
	e.mu.Unlock()
	if !stands {
		return nil
	}
	return e.contactor.Beat()
}
