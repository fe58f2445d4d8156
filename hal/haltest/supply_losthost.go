package haltest

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

var lostHostTests = []supplyTest{
	{"LostHostTimerFires", timed, lostHostTimerFires},
	{"LostHostTimerStaysWhileOn", timed, lostHostTimerStaysWhileOn},
}

// timed tells whether a supply has a lost-host timer, and its rig a clock to see it by.
func timed(r SupplyRig) bool {
	_, can := r.Supply.(hal.LostHostTimer)
	return can && r.Output != nil && r.Wait != nil
}

// lostHostTimerFires where nothing comes for its delay, and not while something does.
func lostHostTimerFires(t *testing.T, r SupplyRig) {
	ctx := context.Background()
	after, err := r.Supply.(hal.LostHostTimer).ArmLostHost(ctx)
	require.NoError(t, err)
	require.GreaterOrEqual(t, after, time.Second)
	energise(t, r)
	for range 6 {
		r.wait(after / 4)
		_, err = r.Supply.Measure(ctx)
		require.NoError(t, err)
	}
	require.True(t, r.Output(), "it was talked to")
	r.wait(after + 500*time.Millisecond)
	require.False(t, r.Output(), "nothing came for its delay")
	state, err := r.Supply.Check(ctx)
	require.NoError(t, err)
	require.NotEmpty(t, state.Tripped, "in the instrument's own words")
	require.NoError(t, r.Supply.Halt(ctx))
}

// lostHostTimerStaysWhileOn: only behind a confirmed off it is taken away.
func lostHostTimerStaysWhileOn(t *testing.T, r SupplyRig) {
	ctx := context.Background()
	timer := r.Supply.(hal.LostHostTimer)
	after, err := timer.ArmLostHost(ctx)
	require.NoError(t, err)
	energise(t, r)
	require.ErrorIs(t, timer.DisarmLostHost(ctx), hal.ErrRefused)
	r.wait(after + 500*time.Millisecond)
	require.False(t, r.Output(), "it was not taken away")
	require.NoError(t, r.Supply.Halt(ctx))
	require.NoError(t, timer.DisarmLostHost(ctx))
}
