package haltest

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

var switchTests = []supplyTest{
	{"OpensHalted", func(r SupplyRig) bool { return r.Heard != nil }, opensHalted},
	{"EnergiseNeedsLimits", anyRig, energiseNeedsLimits},
	{"EnergisesAndHalts", anyRig, energisesAndHalts},
	{"HaltIdempotent", anyRig, haltIdempotent},
	{"HaltAfterCancel", anyRig, haltAfterCancel},
	{"HaltConfirms", needing(StuckOn), haltConfirms},
	{"HaltOnDirtyLink", needing(LateReply), haltOnDirtyLink},
	{"HaltInSilence", func(r SupplyRig) bool { return r.can(Silence) && r.Output != nil }, haltInSilence},
}

func opensHalted(t *testing.T, r SupplyRig) {
	heard := r.Heard()
	require.NotEmpty(t, heard)
	require.Equal(t, r.Words.withDefaults().Off, strings.ToUpper(heard[0]), "the first line switches off")
}

func energiseNeedsLimits(t *testing.T, r SupplyRig) {
	require.Error(t, r.Supply.Energise(context.Background()))
	_, err := r.Supply.SetVoltage(context.Background(), 5)
	require.NoError(t, err)
	require.Error(t, r.Supply.Energise(context.Background()), "the current limit is not set")
	on, err := r.Supply.Energised(context.Background())
	require.NoError(t, err)
	require.False(t, on)
}

func energisesAndHalts(t *testing.T, r SupplyRig) {
	energise(t, r)
	on, err := r.Supply.Energised(context.Background())
	require.NoError(t, err)
	require.True(t, on)
	require.NoError(t, r.Supply.Halt(context.Background()))
	on, err = r.Supply.Energised(context.Background())
	require.NoError(t, err)
	require.False(t, on)
}

func haltIdempotent(t *testing.T, r SupplyRig) {
	for range 3 {
		require.NoError(t, r.Supply.Halt(context.Background()))
	}
	energise(t, r)
	for range 3 {
		require.NoError(t, r.Supply.Halt(context.Background()))
	}
}

func haltAfterCancel(t *testing.T, r SupplyRig) {
	energise(t, r)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	require.NoError(t, r.Supply.Halt(ctx), "a dead context does not stop it")
	if r.Output != nil {
		require.False(t, r.Output())
	}
}

func haltConfirms(t *testing.T, r SupplyRig) {
	energise(t, r)
	r.do(StuckOn)
	require.Error(t, r.Supply.Halt(context.Background()), "nil only where the supply says that it is off")
	on, err := r.Supply.Energised(context.Background())
	require.NoError(t, err)
	require.True(t, on)
}

func haltOnDirtyLink(t *testing.T, r SupplyRig) {
	energise(t, r)
	r.do(LateReply)
	_, err := r.Supply.Measure(context.Background())
	require.ErrorIs(t, err, hal.ErrTimeout)
	require.NoError(t, r.Supply.Halt(context.Background()), "off is sent while an answer is outstanding")
	if r.Output != nil {
		require.False(t, r.Output())
	}
}

// haltInSilence: the supply obeys but says nothing, so it is off and not confirmed.
func haltInSilence(t *testing.T, r SupplyRig) {
	energise(t, r)
	r.do(Silence)
	require.Error(t, r.Supply.Halt(context.Background()))
	r.wait(r.Supply.Limits().Exchange)
	require.False(t, r.Output())
}
