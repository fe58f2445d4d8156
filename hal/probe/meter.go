package probe

import (
	"context"
	"fmt"
	"math"
	"sync"
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
	read ReadVolts

	mu    sync.Mutex
	value unit.Volts
	at    time.Time
	err   error
}

// NewMeter returns a meter without a reading.
func NewMeter(read ReadVolts) *Meter {
	return &Meter{read: read, err: fmt.Errorf("%w: nothing read yet", hal.ErrNoReading)}
}

// Voltage returns the latest reading, and the middle of the exchange that brought it. It
// is an error, and not a number, where the last attempt failed or the reading is older
// than 2 s.
func (m *Meter) Voltage(context.Context) (unit.Volts, time.Time, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	nothing := unit.Volts(math.NaN())
	if m.err != nil {
		return nothing, m.at, fmt.Errorf("voltmeter: %w", m.err)
	}
	if age := time.Since(m.at); age > meterOldest {
		return nothing, m.at, fmt.Errorf("voltmeter: %w: the last one is %v old", hal.ErrNoReading, age.Round(time.Millisecond))
	}
	return m.value, m.at, nil
}

// Watch reads four times a second until the context ends. A meter that takes longer is
// asked again at once.
func (m *Meter) Watch(ctx context.Context) {
	ticker := time.NewTicker(meterPeriod)
	defer ticker.Stop()
	for ctx.Err() == nil {
		m.once(ctx)
		select {
		case <-ctx.Done():
		case <-ticker.C:
		}
	}
}

// First takes the first reading, for the one who opens: a meter that does not answer is
// found then. It must not run beside Watch.
func (m *Meter) First(ctx context.Context) error {
	m.once(ctx)
	_, _, err := m.Voltage(ctx)
	return err
}

func (m *Meter) once(ctx context.Context) {
	asked := time.Now()
	value, err := m.read(ctx)
	took := time.Since(asked)
	if err == nil && (math.IsNaN(float64(value)) || math.IsInf(float64(value), 0)) {
		err = fmt.Errorf("%w: %v", hal.ErrNoReading, float64(value))
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.err = err; err == nil {
		m.value, m.at = value, asked.Add(took/2)
	}
}
