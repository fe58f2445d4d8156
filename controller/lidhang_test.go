package controller

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"
)

// unsettable is a supply that measures, and from a moment on answers no setting.
type unsettable struct {
	delayed
	hangs atomic.Bool
}

func (u *unsettable) open(_ *testing.T, bench *virtual.Bench) hal.Supply {
	u.Supply, u.bench = bench.Supply(), bench
	return u
}

func (u *unsettable) SetVoltage(ctx context.Context, v unit.Volts) (unit.Volts, error) {
	if u.hangs.Load() && v > 0 {
		<-ctx.Done()
		return unit.Volts(0), fmt.Errorf("set: %w: %w", hal.ErrTimeout, ctx.Err())
	}
	return u.delayed.SetVoltage(ctx, v)
}

// The age of the lid's last reading ends a setting that hangs, and wakes the owner between
// two ticks: off waits for neither.
func TestOldLidWaitsForNothing(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for n := range 40 {
		bubbled(t, fmt.Sprint(n), func(t *testing.T) {
			w := &unsettable{}
			var gone time.Duration
			r := inRig(t, w, uint64(n), spacers(), func(r *rig) {
				r.until(t, "ramping")
				somewhere(random, 0, 3*time.Second)
				gone = sinceEpoch()
				r.bench.Exchange(gone, func() {})
				require.NoError(t, r.bench.Inject(virtual.Fault{ID: "interlock-gone", For: virtual.Forever}))
				somewhere(random, 300*time.Millisecond, 450*time.Millisecond)
				w.hangs.Store(n%2 == 0)
			})
			require.NotNil(t, r.result.Trip)
			assert.Equal(t, fault.InterlockOpen, r.result.Trip.Code)
			assert.LessOrEqual(t, r.bench.Truth().OffAt-gone.Seconds(), 0.51)
		})
	}
}
