package controller

import (
	"sync"
	"sync/atomic"

	"anodized/hal"
)

// enable is the only way to the contactor. Pulses come from the owner, at the end
// of a finished tick whose evidence still stands. Dropping may come from anywhere;
// it waits for nothing but a pulse that is on its way.
type enable struct {
	contactor hal.Contactor // nil where there is none

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
	defer e.mu.Unlock()
	e.moved, e.stands = true, false
	return e.halt()
}

// drop lets the contactor go where it may be closed.
func (e *enable) drop() error {
	e.mu.Lock()
	defer e.mu.Unlock()
	if !e.pulsed {
		return nil
	}
	return e.halt()
}

// dropAnyway lets the contactor go, whatever is believed of it.
func (e *enable) dropAnyway() error {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.halt()
}

func (e *enable) halt() error {
	if e.contactor == nil {
		return nil
	}
	err := e.contactor.Halt()
	e.pulsed = err != nil
	return err
}

// beat gives one edge where the evidence of this tick still stands.
func (e *enable) beat() error {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.contactor == nil || !e.stands {
		return nil
	}
	e.pulsed = true
	return e.contactor.Beat()
}
