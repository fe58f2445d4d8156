package watchdog

import (
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"
)

// The times that a board may be given: below, a slow start of the program would reset
// it; above, a hung one stands still for too long.
const (
	Least = 5 * time.Second
	Usual = 15 * time.Second
	Most  = 60 * time.Second
)

// ErrNone is the error of a device that is no watchdog, or of a system that has none.
var ErrNone = errors.New("no watchdog")

// device is an armed watchdog; a test puts another in its place.
type device interface {
	feed() error
	disarm() error // so that it does nothing when it is closed
	Close() error
}

// Dog is an armed watchdog of the board.
type Dog struct {
	device device
	log    *slog.Logger
	every  time.Duration
	last   time.Time // of a beat that fed; for the goroutine of Beat
	due    chan struct{}
	ended  chan struct{}
	ending sync.Once
}

// Open arms the watchdog of the board. From here on it is fed, or the board starts again.
func Open(path string, within time.Duration, log *slog.Logger) (*Dog, error) {
	if within < Least || within > Most {
		return nil, fmt.Errorf("the watchdog %s with %v: from %v to %v", path, within, Least, Most)
	}
	armed, granted, err := open(path, within, log)
	if err != nil {
		return nil, fmt.Errorf("the watchdog %s: %w", path, err)
	}
	log.Info("the watchdog of the board is armed", "device", path, "starts again after", granted)
	return keep(armed, granted, log), nil
}

// keep feeds a device four times in its time at most.
func keep(armed device, within time.Duration, log *slog.Logger) *Dog {
	d := &Dog{device: armed, log: log, every: within / 4, due: make(chan struct{}, 1), ended: make(chan struct{})}
	go d.run()
	return d
}

// Beat says that a turn of the loop is finished. It never waits.
func (d *Dog) Beat() {
	if time.Since(d.last) < d.every {
		return
	}
	select {
	case d.due <- struct{}{}:
		d.last = time.Now()
	default: // the last one is still being written
	}
}

func (d *Dog) run() {
	defer close(d.ended)
	silent := false
	for range d.due {
		err := d.device.feed()
		if err != nil && !silent {
			d.log.Error("the watchdog of the board is not fed: it will start the board again", "error", err)
		}
		silent = err != nil
	}
}

// Close lets the watchdog go, after the last Beat. A clean end disarms it; any other
// leaves it armed, and the board starts again.
func (d *Dog) Close(clean bool) (err error) {
	d.ending.Do(func() {
		close(d.due)
		<-d.ended
		if clean {
			err = d.device.disarm()
		} else {
			d.log.Warn("the watchdog of the board stays armed: the end was not clean, and it will start the board again")
		}
		err = errors.Join(err, d.device.Close())
	})
	if err != nil {
		return fmt.Errorf("let the watchdog of the board go: %w", err)
	}
	return nil
}
