package bench

import (
	"context"

	"anodized/hal/modbus"
	"anodized/profiles"
)

// openModbusInterlock reads the channels once, so that a device that does not
// answer is found before anything is switched on.
func openModbusInterlock(ctx context.Context, set *Set, entry profiles.InterlockEntry) error {
	address, err := hostPort(entry.Address, modbusPort)
	if err != nil {
		return err
	}
	line := &socket{address: address}
	set.keep(line)
	interlock, err := modbus.New(modbus.Options{
		Dial:    func(ctx context.Context) (modbus.Transport, error) { return line.dial(ctx) },
		Unit:    entry.Unit,
		Inputs:  entry.Inputs,
		Timeout: entry.Timeout,
	})
	if err != nil {
		return err
	}
	if _, err := interlock.Channels(ctx); err != nil {
		return err
	}
	set.Interlock = interlock
	return nil
}
