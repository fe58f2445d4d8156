package haltest

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

var linkTests = []supplyTest{
	{"LateReplyAnswersNothing", needing(LateReply), lateReplyAnswersNothing},
	{"LostReply", needing(LostReply), func(t *testing.T, r SupplyRig) { recovers(t, r, LostReply, hal.ErrTimeout) }},
	{"CutMidReply", needing(CutReply), func(t *testing.T, r SupplyRig) { recovers(t, r, CutReply, hal.ErrTimeout) }},
	{"GarbageReply", needing(GarbageReply), func(t *testing.T, r SupplyRig) { recovers(t, r, GarbageReply, hal.ErrNoReading) }},
	{"GarbageBefore", needing(GarbageBefore), func(t *testing.T, r SupplyRig) { recovers(t, r, GarbageBefore, nil) }},
	{"ExtraReply", needing(ExtraReply), extraReply},
	{"SplitReply", needing(SplitReply), splitReply},
	{"CancelIsDirty", needing(LateReply), cancelIsDirty},
	{"DirtyNeedsLimitsAgain", needing(LostReply), dirtyNeedsLimitsAgain},
	{"GoneIsGone", needing(Gone), goneIsGone},
	{"StrangerIsNotDriven", func(r SupplyRig) bool { return r.can(Stranger) && r.Heard != nil }, strangerIsNotDriven},
}

// lateReplyAnswersNothing: with 5 V set and about 0 V measured, a late measurement
// must not be taken for a setpoint, nor the other way round.
func lateReplyAnswersNothing(t *testing.T, r SupplyRig) {
	setBoth(t, r)
	r.do(LateReply)
	_, err := r.Supply.Measure(context.Background())
	require.ErrorIs(t, err, hal.ErrTimeout)
	for range 5 {
		r.wait(150 * time.Millisecond)
		state, err := r.Supply.Check(context.Background())
		require.NoError(t, err)
		require.InDelta(t, 5, float64(state.SetVolts), 1e-9)
		require.InDelta(t, 0.1, float64(state.LimitAmperes), 1e-9)
		sample, err := r.Supply.Measure(context.Background())
		require.NoError(t, err)
		require.InDelta(t, 0, float64(sample.Volts), 0.2)
	}
}

// recovers: a reading fails, and within a second of instrument time all is well.
func recovers(t *testing.T, r SupplyRig, fault Fault, want error) {
	setBoth(t, r)
	r.do(fault)
	_, err := r.Supply.Measure(context.Background())
	require.Error(t, err)
	if want != nil {
		require.ErrorIs(t, err, want)
	}
	began := time.Now()
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.Less(t, time.Since(began), time.Second+r.Supply.Limits().Exchange)
	require.InDelta(t, 5, float64(state.SetVolts), 1e-9)
	require.Empty(t, state.Errors)
}

// extraReply: what came unasked is noticed, and never used.
func extraReply(t *testing.T, r SupplyRig) {
	setBoth(t, r)
	r.do(ExtraReply)
	for range 4 {
		state, err := r.Supply.Check(context.Background())
		if err == nil {
			require.InDelta(t, 5, float64(state.SetVolts), 1e-9)
		}
	}
	_, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
}

func splitReply(t *testing.T, r SupplyRig) {
	setBoth(t, r)
	r.do(SplitReply)
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.InDelta(t, 5, float64(state.SetVolts), 1e-9)
}

func cancelIsDirty(t *testing.T, r SupplyRig) {
	setBoth(t, r)
	r.do(LateReply)
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
	defer cancel()
	_, err := r.Supply.Measure(ctx)
	require.ErrorIs(t, err, context.DeadlineExceeded)
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.InDelta(t, 5, float64(state.SetVolts), 1e-9)
}

func dirtyNeedsLimitsAgain(t *testing.T, r SupplyRig) {
	setBoth(t, r)
	r.do(LostReply)
	_, err := r.Supply.Measure(context.Background())
	require.ErrorIs(t, err, hal.ErrTimeout)
	require.Error(t, r.Supply.Energise(context.Background()), "what was set before the link was lost may not hold")
	energise(t, r)
}

func goneIsGone(t *testing.T, r SupplyRig) {
	r.do(Gone)
	began := time.Now()
	_, err := r.Supply.Measure(context.Background())
	require.ErrorIs(t, err, hal.ErrGone)
	require.Less(t, time.Since(began), 100*time.Millisecond, "not after a time-out")
	_, err = r.Supply.Measure(context.Background())
	require.ErrorIs(t, err, hal.ErrGone)
	on, err := r.Supply.Energised(context.Background())
	require.Error(t, err)
	require.True(t, on, "unknown means on")
	require.Error(t, r.Supply.Halt(context.Background()))
}

func strangerIsNotDriven(t *testing.T, r SupplyRig) {
	energise(t, r)
	r.do(Stranger)
	heard := len(r.Heard())
	for range 3 {
		_, err := r.Supply.Measure(context.Background())
		require.ErrorIs(t, err, hal.ErrGone)
	}
	require.Error(t, r.Supply.Halt(context.Background()))
	for _, line := range r.Heard()[heard:] {
		who := slices.ContainsFunc(r.Words.withDefaults().Who, func(start string) bool { return strings.HasPrefix(line, start) })
		require.True(t, who, "a stranger is asked who it is and nothing else: %s", line)
	}
}
