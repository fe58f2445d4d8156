package bench

import (
	"context"

	"anodized/hal/modbus"
	"anodized/profiles"
)

// openModbusInterlock reads the channels once, so that a device that does not
// answer is found before anything is switched on.
func openModbusInterlock(ctx context.Context, set *Set, entry profiles.InterlockEntry) error {
	line, err := newLine(entry.Address, interlockWays...)
	if err != nil {
		return err
	}
	set.keep(line)
	interlock, err := modbus.New(modbus.Options{
		Dial:    line.modbus,
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
