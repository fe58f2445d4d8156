package watchdog

import (
	"errors"
	"fmt"
	"log/slog"
	"os"
	"time"

	"golang.org/x/sys/unix"
)

// kernel is a watchdog device of the kernel.
type kernel struct {
	*os.File
	asked control
}

// control is what is asked of the driver by ioctl; a test has a fake one.
type control interface {
	information(fd int) (*unix.WatchdogInfo, error)
	bootStatus(fd int) (int, error)
	setTimeout(fd, seconds int) error
	timeout(fd int) (int, error)
	keepAlive(fd int) error
}

func open(path string, within time.Duration, log *slog.Logger) (device, time.Duration, error) {
	return openWith(path, within, log, driver{})
}

func openWith(path string, within time.Duration, log *slog.Logger, asked control) (device, time.Duration, error) {
	file, err := os.OpenFile(path, os.O_WRONLY, 0)
	if errors.Is(err, unix.EBUSY) {
		return nil, 0, fmt.Errorf("%w: another program has it; the service manager may (RuntimeWatchdogSec)", err)
	}
	if err != nil {
		return nil, 0, err
	}
	k := kernel{file, asked}
	granted, err := k.arm(within, log)
	if err != nil {
		return nil, 0, errors.Join(err, k.disarm(), k.Close())
	}
	return k, granted, nil
}

// arm sets the time and returns the one that the driver took.
func (k kernel) arm(within time.Duration, log *slog.Logger) (time.Duration, error) {
	about, err := k.asked.information(k.fd())
	if err != nil {
		return 0, fmt.Errorf("%w: it does not answer as one: %w", ErrNone, err)
	}
	if status, err := k.asked.bootStatus(k.fd()); err == nil && status&unix.WDIOF_CARDRESET != 0 {
		log.Warn("the last start of this board was made by its watchdog: look for what hung")
	}
	if about.Options&unix.WDIOF_MAGICCLOSE == 0 {
		log.Warn("this watchdog cannot be told a clean end from another: see its driver's documentation for what closing does")
	}
	if err := k.asked.setTimeout(k.fd(), int(within/time.Second)); err != nil && about.Options&unix.WDIOF_SETTIMEOUT != 0 {
		return 0, fmt.Errorf("set its time to %v: %w", within, err)
	}
	seconds, err := k.asked.timeout(k.fd())
	if err != nil {
		return 0, fmt.Errorf("ask for its time: %w", err)
	}
	granted := time.Duration(seconds) * time.Second
	if granted < Least || granted > Most {
		return 0, fmt.Errorf("it keeps %v where %v was asked for: from %v to %v is of use here", granted, within, Least, Most)
	}
	return granted, nil
}

func (k kernel) fd() int { return int(k.Fd()) }

func (k kernel) feed() error { return k.asked.keepAlive(k.fd()) }

func (k kernel) disarm() error {
	_, err := k.WriteString("V") // the magic close of the kernel's API
	return err
}

// driver asks the kernel.
type driver struct{}

func (driver) information(fd int) (*unix.WatchdogInfo, error) { return unix.IoctlGetWatchdogInfo(fd) }
func (driver) bootStatus(fd int) (int, error) {
	return unix.IoctlGetInt(fd, unix.WDIOC_GETBOOTSTATUS)
}
func (driver) setTimeout(fd, seconds int) error {
	return unix.IoctlSetPointerInt(fd, unix.WDIOC_SETTIMEOUT, seconds)
}
func (driver) timeout(fd int) (int, error) { return unix.IoctlGetInt(fd, unix.WDIOC_GETTIMEOUT) }
func (driver) keepAlive(fd int) error      { return unix.IoctlWatchdogKeepalive(fd) }
