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

	latest latest[unit.Celsius]
}

// New returns a probe without a reading.
func New(read Read) *Probe {
	return &Probe{read: read, latest: newLatest[unit.Celsius]("bath temperature", oldest)}
}

// Temperature returns the latest reading and when it was taken. It is an
// hal.ErrNoReading, and not a number, where the last attempt failed or the reading
// is older than 5 s.
func (p *Probe) Temperature(context.Context) (unit.Celsius, time.Time, error) {
	return p.latest.get()
}

// Watch reads once a second until the context ends.
func (p *Probe) Watch(ctx context.Context) { repeat(ctx, period, p.once) }

func (p *Probe) once(ctx context.Context) {
	value, err := p.read(ctx)
	if err == nil {
		err = p.judgeStep(value)
	}
	p.latest.store(value, time.Now(), err)
}

func (p *Probe) judgeStep(value unit.Celsius) error {
	before, had := p.before, p.hasBefore
	p.before, p.hasBefore = value, true
	if had && math.Abs(float64(value-before)) > largestStep {
		return fmt.Errorf("%w: %g °C after %g °C: more than %d °C between two readings", hal.ErrNoReading, float64(value), float64(before), largestStep)
	}
	return nil
}
