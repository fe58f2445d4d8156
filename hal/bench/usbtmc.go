package bench

import (
	"os"
	"sync"
	"time"
)

// USBDevice is a USB test-and-measurement device as the kernel shows it: each call
// blocks, and nothing but its own time-out ends it.
type USBDevice interface {
	Write(message []byte) (int, error)  // one whole message
	Read(answer []byte) (int, error)    // the next part of one answer
	SetTimeout(time.Duration) error     // of both; 100 ms at least
	Clear() error                       // throws away what is on its way, both ways
	StatusByte() (status byte, e error) // answered while the instrument is busy
	Close() error
}

const (
	leastUSBTimeout  = 100 * time.Millisecond // of the kernel's driver
	usbClearTime     = 500 * time.Millisecond
	statusPollTime   = 2 * time.Millisecond
	messageAvailable = 16 // bit of the status byte (IEEE 488.2)
)

// USBTMC gives such a device deadlines. The device's calls are made by one goroutine;
// who asked for one waits for it or for the deadline, whichever comes first. What an
// abandoned call brings is thrown away.
//
// Where the instrument's status byte can be read, an answer is read only once it is
// there, so that no read is left hanging and no instrument is asked for what it has not
// got (an error of its own).
type USBTMC struct {
	device USBDevice
	poll   bool
	jobs   chan func()
	free   chan struct{} // holds a token while no call is under way
	closed chan struct{} // closed by Close
	ended  chan struct{} // closed when the goroutine ended

	mu       sync.Mutex
	deadline time.Time
	changed  chan struct{} // closed when the deadline moves
}

// NewUSBTMC takes a device over until Close. With poll its status byte is asked before a
// read, where it has one.
func NewUSBTMC(device USBDevice, poll bool) *USBTMC {
	u := &USBTMC{device: device, jobs: make(chan func()), free: make(chan struct{}, 1),
		closed: make(chan struct{}), ended: make(chan struct{}), changed: make(chan struct{})}
	u.free <- struct{}{}
	if poll {
		_, err := device.StatusByte()
		u.poll = err == nil
	}
	go u.work()
	return u
}

func (u *USBTMC) work() {
	defer close(u.ended)
	for {
		select {
		case job := <-u.jobs:
			job()
			u.free <- struct{}{}
		case <-u.closed:
			return
		}
	}
}

// outcome is what a call brought.
type outcome struct {
	bytes  []byte
	status byte
	err    error
}

// call has one call made, and waits for it no longer than expired says.
func (u *USBTMC) call(do func() outcome, expired func() (<-chan struct{}, func())) outcome {
	late, stop := expired()
	defer stop()
	select {
	case <-u.free:
	case <-u.closed:
		return outcome{err: os.ErrClosed}
	case <-late:
		return outcome{err: os.ErrDeadlineExceeded}
	}
	result := make(chan outcome, 1)
	select {
	case u.jobs <- func() { result <- do() }:
	case <-u.closed:
		return outcome{err: os.ErrClosed}
	}
	select {
	case o := <-result:
		return o
	case <-late:
		return outcome{err: os.ErrDeadlineExceeded}
	}
}

// byDeadline expires with the deadline, also when that is moved to earlier.
func (u *USBTMC) byDeadline() (<-chan struct{}, func()) {
	late, done := make(chan struct{}), make(chan struct{})
	go func() {
		for {
			left, changed := u.left()
			timer := time.NewTimer(left)
			select {
			case <-timer.C:
				close(late)
				return
			case <-changed:
				timer.Stop()
			case <-done:
				timer.Stop()
				return
			}
		}
	}()
	return late, func() { close(done) }
}

func within(d time.Duration) func() (<-chan struct{}, func()) {
	return func() (<-chan struct{}, func()) {
		late := make(chan struct{})
		timer := time.AfterFunc(d, func() { close(late) })
		return late, func() { timer.Stop() }
	}
}

// left is the time to the deadline; none was set: an hour, which no caller waits.
func (u *USBTMC) left() (time.Duration, chan struct{}) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.deadline.IsZero() {
		return time.Hour, u.changed
	}
	return time.Until(u.deadline), u.changed
}

// SetDeadline bounds what follows and what is under way.
func (u *USBTMC) SetDeadline(t time.Time) error {
	u.mu.Lock()
	defer u.mu.Unlock()
	u.deadline = t
	close(u.changed)
	u.changed = make(chan struct{})
	return nil
}

// Write sends one message.
func (u *USBTMC) Write(p []byte) (int, error) {
	message, left := append([]byte(nil), p...), u.timeout()
	o := u.call(func() outcome {
		if err := u.device.SetTimeout(left); err != nil {
			return outcome{err: err}
		}
		n, err := u.device.Write(message)
		return outcome{bytes: message[:max(n, 0)], err: err}
	}, u.byDeadline)
	return len(o.bytes), o.err
}

func (u *USBTMC) timeout() time.Duration {
	left, _ := u.left()
	return max(left, leastUSBTimeout)
}

// Read returns one answer, or as much of it as fits.
func (u *USBTMC) Read(p []byte) (int, error) {
	if err := u.await(); err != nil {
		return 0, err
	}
	left, size := u.timeout(), len(p)
	o := u.call(func() outcome {
		if err := u.device.SetTimeout(left); err != nil {
			return outcome{err: err}
		}
		answer := make([]byte, size)
		n, err := u.device.Read(answer)
		return outcome{bytes: answer[:max(n, 0)], err: err}
	}, u.byDeadline)
	return copy(p, o.bytes), o.err
}

// await waits until the status byte tells that there is an answer.
func (u *USBTMC) await() error {
	for u.poll {
		there, err := u.Pending()
		if there || err != nil {
			return err
		}
		left, changed := u.left()
		if left <= 0 {
			return os.ErrDeadlineExceeded
		}
		timer := time.NewTimer(min(left, statusPollTime))
		select {
		case <-timer.C:
		case <-changed:
			timer.Stop()
		}
	}
	return nil
}

// Pending tells whether an answer waits, where the status byte can tell.
func (u *USBTMC) Pending() (bool, error) {
	if !u.poll {
		return false, nil
	}
	o := u.call(func() outcome {
		status, err := u.device.StatusByte()
		return outcome{status: status, err: err}
	}, u.byDeadline)
	return o.status&messageAvailable != 0, o.err
}

// Flush clears the device, after what is under way has ended.
func (u *USBTMC) Flush() error {
	return u.call(func() outcome { return outcome{err: u.device.Clear()} }, within(usbClearTime)).err
}

// Close waits for what is under way, then closes the device. It is called once.
func (u *USBTMC) Close() error {
	close(u.closed)
	<-u.ended
	return u.device.Close()
}
