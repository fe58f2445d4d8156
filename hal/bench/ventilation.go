package bench

import (
	"context"

	"anodized/hal/gpio"
	"anodized/hal/modbus"
	"anodized/profiles"
)

// openVentilation reads the airflow switch once: one that cannot be read is found now. A
// fan that stands is none of its business.
func openVentilation(ctx context.Context, set *Set, entry profiles.VentilationEntry) error {
	lines, err := set.request(entry.Wiring.Chip, gpio.VentilationRequest(entry.Line, wiring(entry.Wiring)))
	if err != nil {
		return err
	}
	set.Ventilation = gpio.NewVentilation(lines)
	_, _, err = set.Ventilation.Airflow(ctx)
	return err
}

func openRemoteVentilation(ctx context.Context, set *Set, entry profiles.VentilationEntry) error {
	line, err := set.modbusLine(entry.Address, 0)
	if err != nil {
		return err
	}
	fan, err := modbus.NewVentilation(modbus.VentilationOptions{Line: line, Unit: entry.Unit, Input: entry.Input, Timeout: entry.Timeout, Loopback: entry.Loopback})
	if err != nil {
		return err
	}
	set.Ventilation = fan
	_, _, err = fan.Airflow(ctx)
	return err
}
