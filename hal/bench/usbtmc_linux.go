package bench

import (
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/sys/unix"

	"anodized/profiles"
)

// Requests of the kernel's usbtmc driver (include/uapi/linux/usb/tmc.h, Linux 6.1).
const (
	usbtmcClear      = 0x5B02
	usbtmcSetTimeout = 0x40045B0A
	usbtmcStatusByte = 0x80015B12
)

// usbClass is where the kernel lists the devices of its usbtmc driver.
const usbClass = "/sys/class/usbmisc"

// kernelUSB is a device file of the kernel's usbtmc driver.
type kernelUSB struct{ fd int }

// openUSB opens a device file for this process alone. With a serial number it is
// looked up under that, since the number of a file may change when it is plugged in
// again.
func openUSB(a profiles.Address) (*USBTMC, error) {
	path := a.Device
	if a.Serial != "" {
		var err error
		if path, err = findUSB(usbClass, a.Serial); err != nil {
			return nil, err
		}
	}
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	device := &kernelUSB{fd}
	if err := device.claim(); err != nil {
		return nil, errors.Join(fmt.Errorf("claim %s: %w", path, err), device.Close())
	}
	return NewUSBTMC(device, a.Poll), nil
}

// devicePath is the device file of an address now; what cannot be found is named as
// it was given.
func devicePath(a profiles.Address) string {
	if path, err := findUSB(usbClass, a.Serial); err == nil {
		return path
	}
	return a.Device + "?serial=" + a.Serial
}

// findUSB finds the device file of the instrument with this serial number.
func findUSB(class, serial string) (string, error) {
	entries, err := filepath.Glob(filepath.Join(class, "usbtmc*"))
	if err != nil {
		return "", fmt.Errorf("look for USB devices: %w", err)
	}
	var seen []string
	for _, entry := range entries {
		found, err := serialOf(entry)
		if err != nil {
			continue // unplugged while we looked, or it has none
		}
		if found == serial {
			return "/dev/" + filepath.Base(entry), nil
		}
		seen = append(seen, found)
	}
	return "", fmt.Errorf("no USB device has the serial number %q; there are %q: %w", serial, seen, os.ErrNotExist)
}

// serialOf reads the serial number of the USB device that an interface belongs to.
func serialOf(entry string) (string, error) {
	usbInterface, err := filepath.EvalSymlinks(filepath.Join(entry, "device"))
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile(filepath.Join(filepath.Dir(usbInterface), "serial"))
	return strings.TrimSpace(string(text)), err
}

// claim makes sure that it is such a device and that nobody else talks to it.
func (k *kernelUSB) claim() error {
	if err := unix.Flock(k.fd, unix.LOCK_EX|unix.LOCK_NB); err != nil {
		if errors.Is(err, unix.EWOULDBLOCK) {
			return fmt.Errorf("%w: another program has it; stop it first", ErrInUse)
		}
		return err
	}
	if err := k.SetTimeout(leastUSBTimeout); err != nil {
		return fmt.Errorf("is it a USB test-and-measurement device? %w", err)
	}
	return nil
}

// timedOut gives the time-out of the kernel's driver the name that deadlines have.
func timedOut(err error) error {
	if errors.Is(err, unix.ETIMEDOUT) || errors.Is(err, unix.EAGAIN) {
		return fmt.Errorf("%w: %w", os.ErrDeadlineExceeded, err)
	}
	return err
}

func (k *kernelUSB) Write(message []byte) (int, error) {
	n, err := unix.Write(k.fd, message)
	return n, timedOut(err)
}

func (k *kernelUSB) Read(answer []byte) (int, error) {
	n, err := unix.Read(k.fd, answer)
	return n, timedOut(err)
}

func (k *kernelUSB) SetTimeout(d time.Duration) error {
	return unix.IoctlSetPointerInt(k.fd, usbtmcSetTimeout, int(max(d, leastUSBTimeout).Milliseconds()))
}

func (k *kernelUSB) Clear() error {
	return timedOut(unix.IoctlSetInt(k.fd, usbtmcClear, 0))
}

func (k *kernelUSB) StatusByte() (byte, error) {
	value, err := unix.IoctlGetUint32(k.fd, usbtmcStatusByte)
	var bytes [4]byte
	binary.NativeEndian.PutUint32(bytes[:], value) // the kernel writes one byte, the first
	return bytes[0], timedOut(err)
}

func (k *kernelUSB) Close() error { return unix.Close(k.fd) }
