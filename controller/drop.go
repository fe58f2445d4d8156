package controller

import "time"

// dropBound is how long an off waits for the contactor. One on the lines of this computer
// has let go long before; the module of another, which may be silent, is not waited for.
const dropBound = 50 * time.Millisecond

// drop is a contactor on its way to letting go.
type drop struct {
	done chan struct{}
	err  error // once done
}

// startDrop lets the contactor go, and returns when it has, after dropBound at the latest:
// the supply's off goes out meanwhile.
func (s *Station) startDrop(letGo func() error) *drop {
	d := &drop{done: make(chan struct{})}
	if s.devices.Contactor == nil || s.options.ClockWaits {
		d.err = letGo() // nothing that is waited for
		close(d.done)
		return d
	}
	go func() {
		defer close(d.done)
		d.err = letGo()
	}()
	timer := time.NewTimer(dropBound)
	defer timer.Stop()
	select {
	case <-d.done:
	case <-timer.C:
	}
	return d
}

// pending tells whether nobody knows yet what comes of it.
func (d *drop) pending() bool {
	if d == nil {
		return false
	}
	select {
	case <-d.done:
		return false
	default:
		return true
	}
}

// wait is for its end, which the contactor's own time-out bounds.
func (d *drop) wait() error {
	<-d.done
	return d.err
}
