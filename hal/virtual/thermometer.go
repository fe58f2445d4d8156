package virtual

import (
	"context"
	"fmt"
	"math"
	"time"

	"anodized/hal"
	"anodized/hal/unit"
)

// thermometer is the bath thermometer as a device.
type thermometer struct{ bench *Bench }

// Thermometer is the bath thermometer.
func (b *Bench) Thermometer() hal.Thermometer { return b.thermometer }

func (t thermometer) Temperature(ctx context.Context) (unit.Celsius, time.Time, error) {
	b := t.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	nan := unit.Celsius(math.NaN())
	if err := ctx.Err(); err != nil {
		return nan, time.Time{}, fmt.Errorf("reading the bath thermometer: %w", err)
	}
	if b.link.warmthSilent {
		return nan, time.Time{}, fmt.Errorf("reading the bath thermometer: %w: check its cable", hal.ErrTimeout)
	}
	if b.link.warmthStuck {
		return unit.Celsius(b.link.warmth), b.time(), nil
	}
	return unit.Celsius(b.body.Thermometer()), b.time(), nil
}
