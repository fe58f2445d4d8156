package haltest

import (
	"context"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

var readingTests = []supplyTest{
	{"IdentityIsStable", anyRig, identityIsStable},
	{"ReadsZeroWhenOff", anyRig, readsZeroWhenOff},
	{"TimeMovesForward", anyRig, timeMovesForward},
	{"NoReadingIsError", needing(NotANumber), noReadingIsError},
	{"GarbageIsNoReading", needing(GarbageReply), garbageIsNoReading},
	{"ModeFollowsLoad", func(r SupplyRig) bool { return r.Load != nil }, modeFollowsLoad},
}

func identityIsStable(t *testing.T, r SupplyRig) {
	first, err := r.Supply.Identify(context.Background())
	require.NoError(t, err)
	require.NotEmpty(t, first.Model)
	second, err := r.Supply.Identify(context.Background())
	require.NoError(t, err)
	require.Equal(t, first, second)
}

func readsZeroWhenOff(t *testing.T, r SupplyRig) {
	sample, err := r.Supply.Measure(context.Background())
	require.NoError(t, err)
	require.InDelta(t, 0, float64(sample.Volts), 0.2)
	require.InDelta(t, 0, float64(sample.Amperes), 0.05)
	require.NotEqual(t, hal.ModeConstantCurrent, sample.Mode)
}

func timeMovesForward(t *testing.T, r SupplyRig) {
	var last time.Time
	for range 5 {
		sample, err := r.Supply.Measure(context.Background())
		require.NoError(t, err)
		require.False(t, sample.At.Before(last))
		require.GreaterOrEqual(t, sample.Took, time.Duration(0))
		require.LessOrEqual(t, sample.Took, r.Supply.Limits().Exchange)
		last = sample.At
		r.wait(100 * time.Millisecond)
	}
}

func noReadingIsError(t *testing.T, r SupplyRig) {
	r.do(NotANumber)
	requireNoReading(t, r)
	r.wait(time.Second)
	_, err := r.Supply.Measure(context.Background())
	require.NoError(t, err, "the next reading is one again")
}

func garbageIsNoReading(t *testing.T, r SupplyRig) {
	r.do(GarbageReply)
	requireNoReading(t, r)
}

func requireNoReading(t *testing.T, r SupplyRig) {
	t.Helper()
	sample, err := r.Supply.Measure(context.Background())
	require.ErrorIs(t, err, hal.ErrNoReading)
	require.True(t, math.IsNaN(float64(sample.Volts)), "no reading is not a number")
	require.True(t, math.IsNaN(float64(sample.Amperes)))
}

// modeFollowsLoad: 5 V and 0.1 A into 1 kΩ regulate the voltage, into 10 Ω the current.
func modeFollowsLoad(t *testing.T, r SupplyRig) {
	r.Load(1000)
	energise(t, r)
	r.wait(r.Supply.Limits().Settle + time.Second)
	requireMode(t, r, hal.ModeConstantVoltage)
	r.Load(10)
	r.wait(r.Supply.Limits().Settle + time.Second)
	requireMode(t, r, hal.ModeConstantCurrent)
	require.NoError(t, r.Supply.Halt(context.Background()))
	requireMode(t, r, hal.ModeOff)
}

func requireMode(t *testing.T, r SupplyRig, mode hal.Mode) {
	t.Helper()
	sample, err := r.Supply.Measure(context.Background())
	require.NoError(t, err)
	require.Equal(t, mode, sample.Mode)
}
