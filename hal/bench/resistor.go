package bench

import (
	"context"
	"fmt"

	"anodized/hal/rtd"
	"anodized/profiles"
)

// openResistor starts to read a platinum resistor behind an RTD converter.
func openResistor(_ context.Context, set *Set, entry profiles.ThermometerEntry) error {
	port, err := set.connectSPI(entry.Bus)
	if err != nil {
		return err
	}
	thermometer, err := rtd.New(rtd.Options{Port: port, Zero: float64(entry.Resistance), Reference: float64(entry.Reference), Wires: entry.Wires})
	if err != nil {
		return fmt.Errorf("%w: %w", ErrFile, err)
	}
	set.keep(watching(thermometer.Watch))
	set.Thermometer = thermometer
	return nil
}
