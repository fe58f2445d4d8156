package bench

import (
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"anodized/hal"
	"anodized/hal/virtual/pty"
	"anodized/hal/virtual/scpiserver"
	"anodized/profiles"
)

func terminal(t *testing.T) *pty.Terminal {
	t.Helper()
	line, err := pty.Open()
	require.NoError(t, err)
	t.Cleanup(func() { _ = line.Close() }) // some tests close it themselves
	return line
}

func openTerminal(t *testing.T, line *pty.Terminal, options string) *port {
	t.Helper()
	a, err := profiles.ParseAddress("serial://"+line.Path()+options, "serial")
	require.NoError(t, err)
	p, err := openPort(a)
	require.NoError(t, err)
	t.Cleanup(func() { _ = p.Close() })
	return p
}

// TestSerialDeadlines: a read ends at its deadline, also at one that is set while it
// waits, and what came late is flushed or read.
func TestSerialDeadlines(t *testing.T) {
	line := terminal(t)
	p := openTerminal(t, line, "")
	require.NoError(t, p.SetDeadline(time.Now().Add(10*time.Millisecond)))
	_, err := p.Read(make([]byte, 1))
	require.ErrorIs(t, err, os.ErrDeadlineExceeded)

	require.NoError(t, p.SetDeadline(time.Now().Add(time.Hour)))
	read := make(chan error, 1)
	go func() {
		_, err := p.Read(make([]byte, 1))
		read <- err
	}()
	require.NoError(t, p.SetDeadline(time.Now()))
	require.ErrorIs(t, <-read, os.ErrDeadlineExceeded)

	_, err = line.Write([]byte("late"))
	require.NoError(t, err)
	pending := func() bool {
		there, err := p.Pending()
		return err == nil && there
	}
	require.Eventually(t, pending, 10*time.Second, time.Millisecond)
	require.NoError(t, p.Flush())
	require.False(t, pending())
}

// TestSerialPortIsOurs: nobody else opens it until we close it, and then somebody can.
func TestSerialPortIsOurs(t *testing.T) {
	line := terminal(t)
	p := openTerminal(t, line, "")
	a, err := profiles.ParseAddress("serial://"+line.Path(), "serial")
	require.NoError(t, err)
	_, err = openPort(a)
	require.ErrorIs(t, err, ErrInUse)
	require.NoError(t, p.Close())
	again, err := openPort(a)
	require.NoError(t, err)
	require.NoError(t, again.Close())
}

// TestSerialSettings reads back from the system what was asked of it. A
// pseudo-terminal takes every setting but parity and seven bits.
func TestSerialSettings(t *testing.T) {
	for options, want := range map[string]struct {
		flags, input uint32
	}{
		"":                                    {unix.B9600 | unix.CS8, 0},
		"?baud=115200&stop=2":                 {unix.B115200 | unix.CS8 | unix.CSTOPB, 0},
		"?baud=19200&bits=7&flow=xonxoff":     {unix.B19200 | unix.CS8, unix.IXON | unix.IXOFF},
		"?baud=1200&flow=rtscts":              {unix.B1200 | unix.CS8 | unix.CRTSCTS, 0},
		"?baud=4800&parity=even&stop=1":       {unix.B4800 | unix.CS8, unix.INPCK},
		"?baud=230400&parity=odd&flow=rtscts": {unix.B230400 | unix.CS8 | unix.CRTSCTS, unix.INPCK},
	} {
		p := openTerminal(t, terminal(t), options)
		require.NoError(t, p.control(func(fd int) error {
			s, err := unix.IoctlGetTermios(fd, unix.TCGETS)
			require.NoError(t, err)
			require.Equal(t, want.flags|unix.CREAD|unix.CLOCAL, s.Cflag&^(unix.PARENB|unix.PARODD), options)
			require.Equal(t, want.input, s.Iflag, options)
			require.Zero(t, s.Lflag|s.Oflag, "raw")
			require.Zero(t, s.Cflag&unix.HUPCL, "the modem lines stay when it closes")
			return nil
		}))
	}
	for parity, want := range map[string]uint32{"none": 0, "even": unix.PARENB, "odd": unix.PARENB | unix.PARODD} {
		var s unix.Termios
		shape(&s, profiles.Address{Baud: 9600, Bits: 7, Parity: parity, Stop: 1, Flow: "none"})
		require.Equal(t, want|unix.CS7, s.Cflag&(unix.PARENB|unix.PARODD|unix.CSIZE))
	}
}

func TestWhatIsNoSerialPort(t *testing.T) {
	_, err := openPort(profiles.Address{Device: "/dev/null", Baud: 9600})
	require.ErrorContains(t, err, "is it a serial port?")
	_, err = openPort(profiles.Address{Device: filepath.Join(t.TempDir(), "none"), Baud: 9600})
	require.ErrorIs(t, err, os.ErrNotExist)
}

// TestUnpluggedSerialSupplyComesBack: the device file goes, and comes back under the
// same name (a link below /dev/serial/by-id does). The supply that answers there is
// the one that was opened, so it is driven again, off first.
func TestUnpluggedSerialSupplyComesBack(t *testing.T) {
	i := &instrument{on: true, volts: "12.5", amps: "1", ese: "0", identity: "SMALL WORKS,SUPPLY SIMULATED,7,1.0"}
	plugged := terminal(t)
	ended := make(chan error, 2)
	serve := func(line *pty.Terminal) {
		go func() { ended <- scpiserver.ServeLine(t.Context(), line, onLine{i}) }()
	}
	serve(plugged)
	link := filepath.Join(t.TempDir(), "usb-supply")
	require.NoError(t, os.Symlink(plugged.Path(), link))
	a := profiles.Address{Scheme: "serial", Device: link, Baud: 115200, Bits: 8, Parity: "none", Stop: 1, Flow: "none"}
	l := lineTo(a)
	set := &Set{}
	entry := benchOf("serial:///dev/unused", "tcp://127.0.0.1:1").Supply
	require.NoError(t, patiently(func() error {
		require.NoError(t, set.Close())
		set = &Set{}
		return openSCPIOn(t.Context(), set, l, entry)
	}))
	drive(t, &Set{Supply: set.Supply})

	require.NoError(t, plugged.Close())
	require.NoError(t, <-ended)
	_, err := set.Supply.Measure(t.Context())
	require.ErrorIs(t, err, hal.ErrGone)
	_, err = set.Supply.Measure(t.Context())
	require.ErrorIs(t, err, hal.ErrGone, "it is not back yet")
	back := terminal(t)
	serve(back)
	require.NoError(t, os.Remove(link))
	require.NoError(t, os.Symlink(back.Path(), link))
	var heard int
	i.see(func() { heard = len(i.heard) })
	measure := func() error { _, err := set.Supply.Measure(t.Context()); return err }
	require.ErrorIs(t, patiently(measure), hal.ErrRelinked)
	i.see(func() {
		require.False(t, i.on)
		require.Equal(t, "*IDN?", i.heard[heard], "who is there is asked first")
	})
	require.NoError(t, measure())
	require.NoError(t, set.Close())
	require.NoError(t, back.Close())
	require.NoError(t, <-ended)
}

// onLine is the instrument of these tests on a serial line.
type onLine struct{ *instrument }

func (onLine) Connected() bool { return true }
func (onLine) Disconnected()   {}
func (onLine) Overrun() scpiserver.Reply {
	return scpiserver.Reply{}
}

func (o onLine) Line(line string) (r scpiserver.Reply) {
	if answer := o.hear(line); answer != "" {
		r.Text = answer + "\n"
	}
	return r
}

var _ io.ReadWriter = (*port)(nil)
