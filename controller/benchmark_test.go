package controller

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/controller/record"
	"anodized/hal/virtual"
)

// BenchmarkWholeLoad is a load of about two and a half simulated minutes, eight
// like parts, from the start to the result, on the bench in memory.
func BenchmarkWholeLoad(b *testing.B) {
	b.ReportAllocs()
	ticks := 0
	for b.Loop() {
		s, _, kept := hung(b, 1)
		require.Equal(b, record.Complete, through(b, s, spacers()).Outcome)
		ticks += len(kept.rows)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(ticks), "ns/tick")
}

// BenchmarkIdleTick is one tick with nothing under way: reading, deciding,
// carrying out and publishing.
func BenchmarkIdleTick(b *testing.B) {
	bench, err := virtual.New(virtual.Setup{Parts: []virtual.Part{{Area: 25, Count: 8}}})
	require.NoError(b, err)
	s := New(Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Simulated: true}, bench, &shelf{}, quiet(), Options{})
	ctx := context.Background()
	b.ReportAllocs()
	for b.Loop() {
		at, err := bench.Next(ctx)
		if err != nil {
			b.Fatal(err)
		}
		s.tick(ctx, at)
	}
}

// BenchmarkDropWhileAnExchangeHangs measures, in real time, how long a moving lid takes
// to the drop of the contactor: 10,000 openings at random moments while the owner waits
// for a supply that hangs. The figures are those of this computer under its load.
func BenchmarkDropWhileAnExchangeHangs(b *testing.B) {
	for b.Loop() {
		ticker, err := NewTicker(100 * time.Millisecond)
		require.NoError(b, err)
		s, bell := belled(ticker)
		s.wire.hang["measure"] = true
		ctx, cancel := context.WithCancel(context.Background())
		ended := make(chan error)
		go func() { ended <- s.Run(ctx) }()
		random := rand.New(rand.NewPCG(5, 6))
		took := make([]time.Duration, 10_000)
		for i := range took {
			<-time.After(time.Duration(random.Int64N(int64(time.Millisecond))))
			took[i] = bell.open()
		}
		cancel()
		require.NoError(b, <-ended)
		slices.Sort(took)
		b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-us")
		b.ReportMetric(float64(took[len(took)*999/1000].Microseconds()), "p99.9-us")
		b.ReportMetric(float64(took[len(took)-1].Microseconds()), "longest-us")
	}
}
