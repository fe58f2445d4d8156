package bench

import (
	"errors"
	"fmt"
	"os"
	"syscall"

	"golang.org/x/sys/unix"

	"anodized/profiles"
)

// port is an open serial port. Its file is one of the kind that the runtime polls:
// deadlines are exact, and one that is set while a read waits ends that read.
type port struct{ *os.File }

// openPort opens a serial port for this process alone. No modem line is asked for,
// since a pseudo-terminal has none.
func openPort(a profiles.Address) (*port, error) {
	file, err := os.OpenFile(a.Device, os.O_RDWR|syscall.O_NOCTTY|syscall.O_NONBLOCK, 0)
	if errors.Is(err, syscall.EBUSY) {
		return nil, fmt.Errorf("%w: another program has %s open; stop it first", ErrInUse, a.Device)
	}
	if err != nil {
		return nil, fmt.Errorf("open the serial port: %w", err)
	}
	p := &port{file}
	if err := p.control(func(fd int) error { return arrange(fd, a) }); err != nil {
		return nil, errors.Join(fmt.Errorf("set up the serial port %s: %w", a.Device, err), file.Close())
	}
	return p, nil
}

// arrange claims the port before it touches its settings.
func arrange(fd int, a profiles.Address) error {
	if err := unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB); err != nil {
		if errors.Is(err, unix.EWOULDBLOCK) {
			return fmt.Errorf("%w: another program has it; stop it first", ErrInUse)
		}
		return fmt.Errorf("lock it: %w", err)
	}
	if err := unix.IoctlSetInt(fd, unix.TIOCEXCL, 0); err != nil {
		return fmt.Errorf("is it a serial port? claim it: %w", err)
	}
	settings, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		return fmt.Errorf("read its settings: %w", err)
	}
	shape(settings, a)
	if err := unix.IoctlSetTermios(fd, unix.TCSETS, settings); err != nil {
		return fmt.Errorf("set %d baud, %d bits, parity %s: %w", a.Baud, a.Bits, a.Parity, err)
	}
	return unix.IoctlSetInt(fd, unix.TCFLSH, unix.TCIOFLUSH)
}

var speeds = map[int]uint32{
	1200: unix.B1200, 2400: unix.B2400, 4800: unix.B4800, 9600: unix.B9600, 19200: unix.B19200,
	38400: unix.B38400, 57600: unix.B57600, 115200: unix.B115200, 230400: unix.B230400,
}

// shape writes the form of a character into the settings, raw. A byte with a parity
// error arrives as a zero byte, which no grammar here accepts. Hanging up on close is
// off: an instrument that resets when its DTR drops would lose its setpoints.
func shape(s *unix.Termios, a profiles.Address) {
	s.Iflag, s.Oflag, s.Lflag = 0, 0, 0
	s.Cflag = speeds[a.Baud] | unix.CLOCAL | unix.CREAD | unix.CS8
	s.Ispeed, s.Ospeed = speeds[a.Baud], speeds[a.Baud]
	s.Cc[unix.VMIN], s.Cc[unix.VTIME] = 1, 0
	s.Cc[unix.VSTART], s.Cc[unix.VSTOP] = 0x11, 0x13
	if a.Bits == 7 {
		s.Cflag = s.Cflag&^unix.CSIZE | unix.CS7
	}
	if a.Stop == 2 {
		s.Cflag |= unix.CSTOPB
	}
	switch a.Parity {
	case "even":
		s.Cflag |= unix.PARENB
		s.Iflag |= unix.INPCK
	case "odd":
		s.Cflag |= unix.PARENB | unix.PARODD
		s.Iflag |= unix.INPCK
	}
	switch a.Flow {
	case "xonxoff":
		s.Iflag |= unix.IXON | unix.IXOFF
	case "rtscts":
		s.Cflag |= unix.CRTSCTS
	}
}

func (p *port) control(do func(fd int) error) error {
	conn, err := p.SyscallConn()
	if err != nil {
		return err
	}
	var failed error
	if err := conn.Control(func(fd uintptr) { failed = do(int(fd)) }); err != nil {
		return err
	}
	return failed
}

// Flush throws away what has arrived and was not read.
func (p *port) Flush() error {
	return p.control(func(fd int) error { return unix.IoctlSetInt(fd, unix.TCFLSH, unix.TCIFLUSH) })
}

// Pending tells whether bytes have arrived that were not read.
func (p *port) Pending() (there bool, err error) {
	err = p.control(func(fd int) error {
		n, err := unix.IoctlGetInt(fd, unix.TIOCINQ)
		there = n > 0
		return err
	})
	return there, err
}

// Close lets others open the port again. A device that is gone cannot be told so.
func (p *port) Close() error {
	released := p.control(func(fd int) error { return unix.IoctlSetInt(fd, unix.TIOCNXCL, 0) })
	if errors.Is(released, syscall.EIO) || errors.Is(released, syscall.ENODEV) || errors.Is(released, os.ErrClosed) {
		released = nil
	}
	return errors.Join(released, p.File.Close())
}
