package bench

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"periph.io/x/conn/v3"
	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/physic"
	"periph.io/x/conn/v3/spi"
	"periph.io/x/host/v3/sysfs"

	"anodized/hal"
	"anodized/hal/analog"
	"anodized/hal/onewire"
)

// buses opens the buses of this computer by their device files.
type buses struct {
	i2c         func(path string) (i2c.BusCloser, error)
	spi         func(path string) (spi.PortCloser, error)
	kernel1Wire string
}

func kernelBuses() buses {
	return buses{i2c: openI2C, spi: openSPI, kernel1Wire: onewire.KernelFolder}
}

func openI2C(path string) (i2c.BusCloser, error) {
	number, err := strconv.Atoi(strings.TrimPrefix(path, "/dev/i2c-"))
	if err != nil {
		return nil, fmt.Errorf("%w: bus %q: /dev/i2c-NUMBER was expected", ErrFile, path)
	}
	bus, err := sysfs.NewI2C(number)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w: %w; is I2C switched on, and may this user open it?", path, hal.ErrGone, err)
	}
	return bus, nil
}

func openSPI(path string) (spi.PortCloser, error) {
	first, second, _ := strings.Cut(strings.TrimPrefix(path, "/dev/spidev"), ".")
	number, err := strconv.Atoi(first)
	selected, err2 := strconv.Atoi(second)
	if err := errors.Join(err, err2); err != nil {
		return nil, fmt.Errorf("%w: bus %q: /dev/spidevNUMBER.NUMBER was expected", ErrFile, path)
	}
	port, err := sysfs.NewSPI(number, selected)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w: %w; is SPI switched on, and may this user open it?", path, hal.ErrGone, err)
	}
	return port, nil
}

// spiSpeed is slow: the wires of a bench are long, and nothing here is in a hurry.
const spiSpeed = physic.MegaHertz

func (s *Set) connectSPI(path string) (conn.Conn, error) {
	port, err := s.buses.spi(path)
	if err != nil {
		return nil, err
	}
	s.keep(port)
	connection, err := port.Connect(spiSpeed, spi.Mode1, 8)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w: %w", path, hal.ErrGone, err)
	}
	return connection, nil
}

// wires are the buses of a bench with converters, each opened once and with a lane of
// its own.
type wires struct {
	set   *Set
	i2c   map[string]i2c.Bus
	spi   map[string]conn.Conn
	lanes map[string]*analog.Lane
	chips map[string]any // by place: two channels of one chip share it
}

func (s *Set) newWires() *wires {
	if s.wired == nil {
		s.wired = &wires{s, map[string]i2c.Bus{}, map[string]conn.Conn{}, map[string]*analog.Lane{}, map[string]any{}}
	}
	return s.wired
}

// lane is kept after its bus, so that it is closed before.
func (w *wires) lane(path string) *analog.Lane {
	if w.lanes[path] == nil {
		w.lanes[path] = analog.NewLane(path)
		w.set.keep(w.lanes[path])
	}
	return w.lanes[path]
}

func (w *wires) i2cBus(path string) (i2c.Bus, error) {
	if w.i2c[path] == nil {
		bus, err := w.set.buses.i2c(path)
		if err != nil {
			return nil, err
		}
		w.set.keep(bus)
		w.i2c[path] = bus
	}
	return w.i2c[path], nil
}

func (w *wires) spiPort(path string) (conn.Conn, error) {
	if w.spi[path] == nil {
		port, err := w.set.connectSPI(path)
		if err != nil {
			return nil, err
		}
		w.spi[path] = port
	}
	return w.spi[path], nil
}
