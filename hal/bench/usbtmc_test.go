package bench

import (
	"context"
	"errors"
	"os"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// fakeUSB is the kernel's driver with an instrument behind it: calls block, and one at
// a time is served.
type fakeUSB struct {
	mu       sync.Mutex
	busy     sync.Mutex // the driver's: input, output and requests wait for each other
	i        *instrument
	answers  []string
	takes    time.Duration // until the next answer is there
	ready    time.Time
	timeout  time.Duration
	noStatus bool
	gone     bool
	cleared  int
	unasked  int // reads that found no answer
}

func (f *fakeUSB) do(change func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	change()
}

func (f *fakeUSB) enter() (leave func(), err error) {
	f.busy.Lock()
	f.do(func() {
		if f.gone {
			err = syscall.ENODEV
		}
	})
	return f.busy.Unlock, err
}

func (f *fakeUSB) Write(message []byte) (int, error) {
	leave, err := f.enter()
	defer leave()
	if err != nil {
		return -1, err
	}
	f.do(func() {
		line := string(message[:len(message)-1])
		if answer := f.i.hear(line); answer != "" {
			f.answers, f.ready = append(f.answers, answer+"\n"), time.Now().Add(f.takes)
		}
	})
	return len(message), nil
}

func (f *fakeUSB) Read(answer []byte) (n int, err error) {
	leave, err := f.enter()
	defer leave()
	if err != nil {
		return -1, err
	}
	var wait, timeout time.Duration
	f.do(func() {
		timeout = f.timeout
		wait = time.Until(f.ready)
		if len(f.answers) == 0 {
			wait = timeout + 1
			f.unasked++
		}
	})
	<-time.After(min(max(wait, 0), timeout))
	if wait > timeout {
		return -1, timedOutFake(syscall.ETIMEDOUT)
	}
	f.do(func() {
		n = copy(answer, f.answers[0])
		f.answers = f.answers[1:]
	})
	return n, nil
}

func timedOutFake(err error) error { return errors.Join(os.ErrDeadlineExceeded, err) }

func (f *fakeUSB) SetTimeout(d time.Duration) error {
	leave, err := f.enter()
	defer leave()
	f.do(func() { f.timeout = max(d, leastUSBTimeout) })
	return err
}

func (f *fakeUSB) Clear() error {
	leave, err := f.enter()
	defer leave()
	f.do(func() { f.answers, f.cleared = nil, f.cleared+1 })
	return err
}

func (f *fakeUSB) StatusByte() (status byte, err error) {
	leave, err := f.enter()
	defer leave()
	f.do(func() {
		if f.noStatus {
			err = syscall.EOPNOTSUPP
		}
		if len(f.answers) > 0 && !time.Now().Before(f.ready) {
			status = messageAvailable
		}
	})
	return status, err
}

func (f *fakeUSB) Close() error { return nil }

// usbSupply opens a supply on the fake, and the same again where it broke.
func usbSupply(t *testing.T, f *fakeUSB) hal.Supply {
	t.Helper()
	l := &line{at: "fake", keep: true}
	l.open = func(context.Context) (transport, error) {
		var err error
		f.do(func() {
			if f.gone {
				err = os.ErrNotExist
			}
		})
		if err != nil {
			return nil, err
		}
		return NewUSBTMC(f, true), nil
	}
	set := &Set{}
	entry := benchOf("usbtmc:///dev/usbtmc0", "").Supply
	entry.Dialect.Timeout = 0 // the time of these tests is simulated
	require.NoError(t, openSCPIOn(t.Context(), set, l, entry))
	t.Cleanup(func() { require.NoError(t, l.Close()) })
	return set.Supply
}

func newFakeUSB() *fakeUSB {
	return &fakeUSB{takes: time.Millisecond,
		i: &instrument{on: true, volts: "12.5", amps: "1", ese: "0", identity: "SMALL WORKS,SUPPLY SIMULATED,7,1.0"}}
}

func TestUSBSupplyIsDriven(t *testing.T) {
	for name, noStatus := range map[string]bool{"status byte": false, "no status byte": true} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				f := newFakeUSB()
				f.noStatus = noStatus
				supply := usbSupply(t, f)
				require.Equal(t, "OUTP OFF", f.i.heard[0])
				drive(t, &Set{Supply: supply})
				require.NoError(t, supply.Halt(t.Context()))
				require.False(t, f.i.on)
				if !noStatus {
					require.Zero(t, f.unasked, "nobody asks for what is not there")
				}
			})
		})
	}
}

// TestUSBLateAnswerIsCleared: an answer past its deadline dies with the clear, and is
// no answer to what is asked next.
func TestUSBLateAnswerIsCleared(t *testing.T) {
	for name, noStatus := range map[string]bool{"status byte": false, "no status byte": true} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				f := newFakeUSB()
				f.noStatus = noStatus
				supply := usbSupply(t, f)
				_, err := supply.SetVoltage(t.Context(), 5)
				require.NoError(t, err)
				f.do(func() { f.takes = 400 * time.Millisecond })
				_, err = supply.Measure(t.Context())
				require.ErrorIs(t, err, hal.ErrTimeout)
				f.do(func() { f.takes = time.Millisecond })
				before := f.cleared
				state, err := supply.Check(t.Context())
				require.NoError(t, err)
				require.InDelta(t, 5, float64(state.SetVolts), 1e-9)
				require.Greater(t, f.cleared, before)
			})
		})
	}
}

// TestUSBUnpluggedIsGone at once, and found again when it is back.
func TestUSBUnpluggedIsGone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := newFakeUSB()
		supply := usbSupply(t, f)
		f.do(func() { f.gone = true })
		began := time.Now()
		_, err := supply.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		require.ErrorIs(t, err, syscall.ENODEV)
		_, err = supply.Measure(t.Context())
		require.ErrorIs(t, err, hal.ErrGone)
		require.Error(t, supply.Halt(t.Context()))
		require.Less(t, time.Since(began), 100*time.Millisecond)
		f.do(func() { f.gone = false })
		_, err = supply.Measure(t.Context())
		require.NoError(t, err)
	})
}

// TestUSBReadIsCutOff: a deadline that is moved to now ends a read that the kernel
// would hold for longer; the next call waits for it.
func TestUSBReadIsCutOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := newFakeUSB()
		u := NewUSBTMC(f, false)
		require.NoError(t, u.SetDeadline(time.Now().Add(time.Minute)))
		read := make(chan error, 1)
		go func() {
			_, err := u.Read(make([]byte, 10))
			read <- err
		}()
		synctest.Wait()
		began := time.Now()
		require.NoError(t, u.SetDeadline(time.Now()))
		require.ErrorIs(t, <-read, os.ErrDeadlineExceeded)
		require.Zero(t, time.Since(began))
		require.ErrorIs(t, u.Flush(), os.ErrDeadlineExceeded, "the kernel's read goes on")
		require.NoError(t, u.Close())
		_, err := u.Write([]byte("OUTP OFF\n"))
		require.ErrorIs(t, err, os.ErrClosed)
	})
}
