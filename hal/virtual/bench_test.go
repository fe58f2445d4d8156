package virtual

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/virtual/plant"
)

func recorded(t testing.TB, setup Setup) []byte {
	var samples []hal.Sample
	l := begin(t, newBench(t, setup), 1)
	l.see = func(s hal.Sample) { samples = append(samples, s) }
	l.ramp(40, 30)
	text, err := json.Marshal(samples)
	require.NoError(t, err)
	return text
}

func TestSameSeedSameBytes(t *testing.T) {
	setup := func(seed uint64) Setup {
		p := plant.DrawHealthy(7, 200)
		return Setup{Seed: seed, Parameters: &p, Faults: []Fault{
			{ID: "contact-intermittent", At: AtVolts(20)}, {ID: "leak", At: AfterOn(30)}}}
	}
	require.Equal(t, recorded(t, setup(5)), recorded(t, setup(5)))
	require.NotEqual(t, recorded(t, setup(5)), recorded(t, setup(6)))
}

func TestLidOpensOnceAndClosesForEachRack(t *testing.T) {
	b := newBench(t, Setup{})
	require.Equal(t, []float64{1.0, 3.0}, changes(t, b, 60))
	require.Empty(t, changes(t, b, 60))
	b.NextRack()
	require.Equal(t, []float64{13.0, 15.0}, changes(t, b, 60))
}

// changes lists the times at which both channels changed together.
func changes(t *testing.T, b *Bench, ticks int) []float64 {
	var at []float64
	before, err := b.Interlock().Channels(context.Background())
	require.NoError(t, err)
	for range ticks {
		now, err := b.Next(context.Background())
		require.NoError(t, err)
		channels, err := b.Interlock().Channels(context.Background())
		require.NoError(t, err)
		require.Equal(t, channels.Closed[0], channels.Closed[1])
		if channels.Closed != before.Closed {
			at = append(at, now.Sub(Epoch).Seconds())
		}
		before = channels
	}
	return at
}

func TestNewRackIsBareAndItsOldFaultsAreGone(t *testing.T) {
	b := newBench(t, Setup{Faults: []Fault{{ID: "contact-lost", At: AtVolts(10)}, {ID: "leak", At: AfterOn(1)}}})
	l := begin(t, b, 1)
	l.ramp(15, 5)
	truth := b.Truth()
	require.Less(t, truth.Film[0], truth.Film[1])
	require.Greater(t, truth.BesideAmperes, 0.01)
	require.NoError(t, b.Supply().Halt(context.Background()))
	b.NextRack()
	for range 35 {
		l.tick()
	}
	truth = b.Truth()
	require.InDelta(t, 1.5, truth.Film[0], 0.01)
	require.InDelta(t, 1.5, truth.Film[1], 0.01)
	require.Negative(t, truth.RunSeconds)
	l = begin(t, b, 1)
	l.ramp(15, 5)
	truth = b.Truth()
	require.Equal(t, truth.Film[0], truth.Film[1])
	require.InDelta(t, 0, truth.BesideAmperes, 1e-9)
}

func TestOutputFallsBelowFiveVoltsInAboutASecond(t *testing.T) {
	b := newBench(t, Setup{})
	l := begin(t, b, 1)
	l.ramp(70, 60)
	require.NoError(t, l.supply.Halt(context.Background()))
	last, ticks := b.Truth().Volts, 0
	for b.Truth().Volts > 5 {
		l.tick()
		ticks++
		require.Less(t, b.Truth().Volts, last, "the capacitance only empties")
		last = b.Truth().Volts
		sample, err := l.supply.Measure(context.Background())
		require.NoError(t, err)
		require.Equal(t, hal.ModeOff, sample.Mode)
	}
	require.InDelta(t, 10, ticks, 3)
}

func TestRealTimeIsKept(t *testing.T) {
	b := newBench(t, Setup{Speed: 100})
	began := time.Now()
	for range 21 {
		_, err := b.Next(context.Background())
		require.NoError(t, err)
	}
	require.GreaterOrEqual(t, time.Since(began), 20*time.Millisecond)
}

func TestCancelledContextStopsThePacer(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	b := newBench(t, Setup{Speed: 1e-3})
	_, err := b.Next(ctx)
	require.NoError(t, err)
	cancel()
	_, err = b.Next(ctx)
	require.ErrorIs(t, err, context.Canceled)
}

func TestSetupsThatCannotBe(t *testing.T) {
	for name, setup := range map[string]Setup{
		"area":  {Parts: []Part{{Area: -1}}},
		"volts": {Parts: spacers(), HighestVolts: -1},
		"amps":  {Parts: spacers(), HighestAmperes: 1e9},
		"tick":  {Parts: spacers(), Tick: time.Nanosecond},
		"speed": {Parts: spacers(), Speed: -1},
		"fault": {Parts: spacers(), Faults: []Fault{{ID: "gremlin"}}},
		"parts": {Parts: []Part{{Area: 1, Count: 5000}}},
		"film":  {Parts: spacers(), Parameters: &plant.Parameters{}},
	} {
		_, err := New(setup)
		require.Error(t, err, name)
	}
}

func TestMeasuringAllocatesNothing(t *testing.T) {
	b := newBench(t, Setup{})
	l := begin(t, b, 1)
	ctx := context.Background()
	require.Zero(t, testing.AllocsPerRun(200, func() {
		_, _ = b.Next(ctx)
		_, _ = l.supply.Measure(ctx)
		_, _ = l.supply.SetVoltage(ctx, 5)
		_, _ = b.Interlock().Channels(ctx)
		_, _, _ = b.Thermometer().Temperature(ctx)
	}))
}

func BenchmarkTickOfTheBench(b *testing.B) {
	l := begin(b, newBench(b, Setup{}), 1)
	l.ramp(20, 0)
	ctx := context.Background()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Next(ctx); err != nil {
			b.Fatal(err)
		}
		if _, err := l.supply.Measure(ctx); err != nil {
			b.Fatal(err)
		}
	}
}
