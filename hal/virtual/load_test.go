package virtual

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/unit"
)

// spacers are eight headset spacers, 34 by 28.6 by 10 mm.
func spacers() []Part { return []Part{{Area: 24.976, Count: 8}} }

func newBench(t testing.TB, setup Setup) *Bench {
	t.Helper()
	if setup.Parts == nil {
		setup.Parts = spacers()
	}
	b, err := New(setup)
	require.NoError(t, err)
	return b
}

// load is a person at the knob: it waits for the lid, energises, ramps and holds.
type load struct {
	*Bench
	t      testing.TB
	supply hal.Supply
	see    func(hal.Sample)
}

func begin(t testing.TB, b *Bench, limit unit.Amperes) *load {
	l := &load{Bench: b, t: t, supply: b.Supply(), see: func(hal.Sample) {}}
	for range 35 {
		l.tick()
	}
	_, err := l.supply.SetVoltage(context.Background(), 0)
	require.NoError(t, err)
	_, err = l.supply.SetCurrent(context.Background(), limit)
	require.NoError(t, err)
	require.NoError(t, l.supply.Energise(context.Background()))
	return l
}

func (l *load) tick() {
	_, err := l.Next(context.Background())
	require.NoError(l.t, err)
}

// ramp goes to a target at 1 V/s and then holds for so many seconds.
func (l *load) ramp(target unit.Volts, hold int) {
	for tick := 1; tick <= int(target*10)+hold*10; tick++ {
		_, err := l.supply.SetVoltage(context.Background(), min(target, unit.Volts(tick)/10))
		require.NoError(l.t, err)
		l.tick()
		sample, err := l.supply.Measure(context.Background())
		require.NoError(l.t, err)
		l.see(sample)
	}
}
