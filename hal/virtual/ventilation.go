package virtual

import (
	"context"
	"fmt"
	"time"

	"anodized/hal"
)

// air is the fan over the bench and its airflow switch.
type air struct {
	still bool // the fan stands
	gone  bool // the switch cannot be read
}

// ventilation is the airflow switch as a device.
type ventilation struct{ bench *Bench }

// Ventilation is the airflow switch of the bench; nil where Setup.Ventilation is not set.
func (b *Bench) Ventilation() hal.Ventilation {
	if !b.setup.Ventilation {
		return nil
	}
	return ventilation{b}
}

// Airflow tells whether the fan moves the air.
func (v ventilation) Airflow(ctx context.Context) (proven bool, at time.Time, err error) {
	b := v.bench
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return false, time.Time{}, fmt.Errorf("reading the airflow switch: %w", err)
	}
	if b.air.gone {
		return false, time.Time{}, fmt.Errorf("reading the airflow switch: %w: check its cable", hal.ErrGone)
	}
	return !b.air.still, b.time(), nil
}

// airKinds are what can be wrong with the ventilation.
var airKinds = []kind{
	{id: "ventilation-lost", what: "the fan stands, and the airflow switch opens", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.air.still = true },
		end:   func(b *Bench, _ *armed) { b.air.still = false }},
	{id: "ventilation-gone", what: "the airflow switch cannot be read", lasts: ever,
		begin: func(b *Bench, _ *armed) { b.air.gone = true },
		end:   func(b *Bench, _ *armed) { b.air.gone = false }},
}
