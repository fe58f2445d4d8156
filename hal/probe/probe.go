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
	period      = time.Second
	oldest      = 5 * time.Second
	largestStep = 5 // °C between two readings
)

// Read takes one reading. It may take long; where it can, it ends with the context.
type Read func(ctx context.Context) (unit.Celsius, error)

// Probe satisfies hal.Thermometer. Watch must run for it to have readings.
type Probe struct {
	read Read

	before    unit.Celsius // the last one read, also where it was refused for its step
	hasBefore bool

	mu    sync.Mutex
	value unit.Celsius
	at    time.Time
	err   error
}

// New returns a probe without a reading.
func New(read Read) *Probe {
	return &Probe{read: read, err: fmt.Errorf("%w: nothing read yet", hal.ErrNoReading)}
}

// Temperature returns the latest reading and when it was taken. It is an
// hal.ErrNoReading, and not a number, where the last attempt failed or the reading
// is older than 5 s.
func (p *Probe) Temperature(context.Context) (unit.Celsius, time.Time, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	nothing := unit.Celsius(math.NaN())
	if p.err != nil {
		return nothing, p.at, fmt.Errorf("bath temperature: %w", p.err)
	}
	if age := time.Since(p.at); age > oldest {
		return nothing, p.at, fmt.Errorf("bath temperature: %w: the last one is %v old", hal.ErrNoReading, age.Round(time.Millisecond))
	}
	return p.value, p.at, nil
}

// Watch reads once a second until the context ends.
func (p *Probe) Watch(ctx context.Context) {
	ticker := time.NewTicker(period)
	defer ticker.Stop()
	for ctx.Err() == nil {
		value, err := p.read(ctx)
		if err == nil {
			err = p.judgeStep(value)
		}
		p.store(value, err)
		select {
		case <-ctx.Done():
		case <-ticker.C:
		}
	}
}

func (p *Probe) store(value unit.Celsius, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.err = err; err == nil {
		p.value, p.at = value, time.Now()
	}
}

func (p *Probe) judgeStep(value unit.Celsius) error {
	before, had := p.before, p.hasBefore
	p.before, p.hasBefore = value, true
	if had && math.Abs(float64(value-before)) > largestStep {
		return fmt.Errorf("%w: %g °C after %g °C: more than %d °C between two readings", hal.ErrNoReading, float64(value), float64(before), largestStep)
	}
	return nil
}
