package probe

import (
	"context"
	"fmt"
	"math"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

const (
	meterPeriod = 250 * time.Millisecond // four readings a second
	meterOldest = 2 * time.Second
)

// ReadVolts takes one reading of a voltmeter. It may take long; where it can, it ends
// with the context.
type ReadVolts func(ctx context.Context) (unit.Volts, error)

// Meter keeps the latest reading of a voltmeter. It satisfies hal.Voltmeter. Watch must
// run for it to have readings.
type Meter struct {
	read   ReadVolts
	latest latest[unit.Volts]
}

// NewMeter returns a meter without a reading.
func NewMeter(read ReadVolts) *Meter {
	return &Meter{read: read, latest: newLatest[unit.Volts]("voltmeter", meterOldest)}
}

// Voltage returns the latest reading, and the middle of the exchange that brought it. It
// is an error, and not a number, where the last attempt failed or the reading is older
// than 2 s.
func (m *Meter) Voltage(context.Context) (unit.Volts, time.Time, error) { return m.latest.get() }

// Watch reads four times a second until the context ends. A meter that takes longer is
// asked again at once.
func (m *Meter) Watch(ctx context.Context) { repeat(ctx, meterPeriod, m.once) }

// First takes the first reading, for the one who opens: a meter that does not answer is
// found then. It must not run beside Watch.
func (m *Meter) First(ctx context.Context) error {
	m.once(ctx)
	_, _, err := m.latest.get()
	return err
}

func (m *Meter) once(ctx context.Context) {
	asked := time.Now()
	value, err := m.read(ctx)
	took := time.Since(asked)
	if err == nil && (math.IsNaN(float64(value)) || math.IsInf(float64(value), 0)) {
		err = fmt.Errorf("%w: %v", hal.ErrNoReading, float64(value))
	}
	m.latest.store(value, asked.Add(took/2), err)
}
