package controller

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/hal/unit"
)

func TestTimesCountByLength(t *testing.T) {
	var all Times
	for _, took := range []float64{0, 0.0005, 0.0006, 0.35, 0.36, 2, 3, 60} {
		all.add(unit.Seconds(took))
	}
	assert.Equal(t, uint64(8), all.Count)
	assert.InDelta(t, 65.7111, float64(all.Sum), 1e-9)
	assert.Equal(t, [len(TimeBounds)]uint64{2, 1, 0, 0, 0, 0, 0, 0, 0, 1, 1, 0, 1}, all.Within)
	assert.Zero(t, testing.AllocsPerRun(100, func() { all.add(0.03) }))
}
