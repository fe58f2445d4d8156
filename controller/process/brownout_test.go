package process

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestABrownOutRefusesAStartAndEndsNoRun: one that passes within the patience of a start is
// waited for.
func TestABrownOutRefusesAStartAndEndsNoRun(t *testing.T) {
	k := newTank(load())
	k.before = func(k *tank) { k.in.BrownOut = true }
	k.start(t, Refused)
	assert.Equal(t, UnderVoltage, k.out.Reasons)
	assert.Zero(t, k.out.T, "the output was never on")

	k = newTank(load())
	k.before = func(k *tank) { k.in.BrownOut = k.now < 5 }
	k.start(t, ContactCheck)
	assert.InDelta(t, 5.1, k.now, 0.11, "and a tick for the intent row")
	k.before = func(k *tank) { k.in.BrownOut = true }
	for range 50 {
		k.tick()
		require.True(t, k.out.On)
	}
}
