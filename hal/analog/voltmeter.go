package analog

import (
	"context"
	"errors"
	"fmt"
	"math"

	"anodized/hal"
	"anodized/hal/analog/chip"
	"anodized/hal/unit"
)

// Voltmeter is a converter behind a divider across the cell: an independent meter, as
// long as it shares neither divider nor reference with the monitors of the supply, and
// its bus is isolated from the computer.
type Voltmeter struct{ monitor Monitor }

// OpenVoltmeter starts the converter.
func OpenVoltmeter(ctx context.Context, m Monitor) (*Voltmeter, error) {
	if err := m.check("voltmeter"); err != nil {
		return nil, err
	}
	_, err := ask(ctx, m.Lane, func(ctx context.Context) (struct{}, error) { return struct{}{}, m.Input.Start(ctx) })
	if err != nil {
		return nil, fmt.Errorf("start the voltmeter: %w", err)
	}
	return &Voltmeter{m}, nil
}

// Read converts once. The end of the range is no reading: how many volts there are,
// nobody can say. It takes 100 ms at most.
func (v *Voltmeter) Read(ctx context.Context) (unit.Volts, error) {
	volts, err := ask(ctx, v.monitor.Lane, v.monitor.read)
	switch {
	case errors.Is(err, chip.ErrSaturated):
		return unit.Volts(math.NaN()), fmt.Errorf("read the voltmeter: %w: %w", hal.ErrNoReading, err)
	case err != nil:
		return unit.Volts(math.NaN()), fmt.Errorf("read the voltmeter: %w", err)
	}
	return unit.Volts(volts), nil
}
