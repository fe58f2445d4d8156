package modbus

import (
	"context"
	"fmt"

	"anodized/hal/probe"
	"anodized/hal/unit"
)

// VoltmeterOptions say where the volts of an independent meter are found.
type VoltmeterOptions = ThermometerOptions

// NewVoltmeter returns a meter that reads a register, in V. Its Watch must run for it to
// have readings. A module that answers at once with what it converted a while ago shows
// volts that are older than their exchange by that while; nobody can see that from here.
func NewVoltmeter(o VoltmeterOptions) (*probe.Meter, error) {
	read, err := o.reader("voltmeter")
	if err != nil {
		return nil, err
	}
	return probe.NewMeter(func(ctx context.Context) (unit.Volts, error) {
		value, err := read(ctx)
		if err != nil {
			return unit.Volts(nan), fmt.Errorf("read the register: %w", err)
		}
		return unit.Volts(value), nil
	}), nil
}
