package colour_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
)

func TestPublishedDifferences(t *testing.T) { // Sharma, Wu, Dalal, table 1
	rows := published(t, "sharma34.csv")
	require.Len(t, rows, 34)
	for _, row := range rows {
		v := make([]float64, len(row))
		for i := range row {
			v[i] = number(t, row[i])
		}
		one, two := colour.Lab{L: v[1], A: v[2], B: v[3]}, colour.Lab{L: v[4], A: v[5], B: v[6]}
		assert.InDelta(t, v[7], colour.Difference(one, two), 1e-4, "pair %v", row[0])
		assert.InDelta(t, v[7], colour.Difference(two, one), 1e-4, "pair %v, turned round", row[0])
	}
}

func BenchmarkDifference(b *testing.B) {
	one, two := colour.Lab{L: 60, A: -23, B: -34}, colour.Lab{L: 50, A: 2.5, B: -30}
	b.ReportAllocs()
	for b.Loop() {
		colour.Difference(one, two)
	}
}
