package modbus

import (
	"context"
	"fmt"
	"time"

	"anodized/hal/probe"
	"anodized/hal/unit"
)

// ThermometerOptions say where a temperature is found, or another number.
type ThermometerOptions struct {
	Line     *Line
	Unit     int           // 1 to 247; 0 and 255 over TCP as well
	Timeout  time.Duration // of one answer; 0: DefaultTimeout
	Loopback bool          // function 08 echoes a number
	Register Quantity      // in °C
}

// NewThermometer returns a probe that reads a register. Its Watch must run for it to
// have readings. It shares a line with other devices: a halt goes before it.
func NewThermometer(o ThermometerOptions) (*probe.Probe, error) {
	read, err := o.reader("thermometer")
	if err != nil {
		return nil, err
	}
	return probe.New(func(ctx context.Context) (unit.Celsius, error) {
		value, err := read(ctx)
		return unit.Celsius(value), err
	}), nil
}

// reader reads the register once a call.
func (o ThermometerOptions) reader(device string) (func(context.Context) (float64, error), error) {
	d, err := newDevice(device, o.Line, o.Unit, o.Timeout, o.Loopback)
	if err != nil {
		return nil, err
	}
	register := o.Register
	if err := register.check(false); err != nil {
		return nil, fmt.Errorf("%s: %w", device, err)
	}
	place := block{register.Table, register.Address, words(register.Type)}
	return func(ctx context.Context) (float64, error) {
		answer, err := d.exchange(ctx, place.request())
		if err != nil {
			return nan, err
		}
		return register.decode(registers(answer))
	}, nil
}

// newDevice is a unit on a line.
func newDevice(name string, line *Line, number int, timeout time.Duration, loopback bool) (*device, error) {
	if timeout == 0 {
		timeout = DefaultTimeout
	}
	switch {
	case line == nil:
		return nil, fmt.Errorf("%s: no line was given", name)
	case number < 0 || number > 255 || line.framing == RTU && (number < 1 || number > 247):
		return nil, fmt.Errorf("%s: unit %d: 1 to 247 are allowed", name, number)
	case timeout < 0:
		return nil, fmt.Errorf("%s: timeout %v: it must not be negative", name, timeout)
	}
	return &device{line: line, unit: byte(number), timeout: timeout, loopback: loopback}, nil
}
