package modbus

import (
	"context"
	"errors"
	"fmt"
	"time"

	"anodized/hal/probe"
	"anodized/hal/unit"
)

// ThermometerOptions say where a temperature is found.
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
	if o.Timeout == 0 {
		o.Timeout = DefaultTimeout
	}
	switch {
	case o.Line == nil:
		return nil, errors.New("thermometer: no line was given")
	case o.Unit < 0 || o.Unit > 255 || o.Line.framing == RTU && (o.Unit < 1 || o.Unit > 247):
		return nil, fmt.Errorf("thermometer: unit %d: 1 to 247 are allowed", o.Unit)
	}
	register := o.Register
	if err := register.check(false); err != nil {
		return nil, fmt.Errorf("thermometer: %w", err)
	}
	d := &device{line: o.Line, unit: byte(o.Unit), timeout: o.Timeout, loopback: o.Loopback}
	place := block{register.Table, register.Address, words(register.Type)}
	return probe.New(func(ctx context.Context) (unit.Celsius, error) {
		answer, err := d.exchange(ctx, place.request())
		if err != nil {
			return unit.Celsius(nan), err
		}
		value, err := register.decode(registers(answer))
		return unit.Celsius(value), err
	}), nil
}
