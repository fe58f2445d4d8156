package controller

import (
	"context"
	"testing"

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
