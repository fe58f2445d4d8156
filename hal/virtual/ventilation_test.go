package virtual

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

func TestAirflowSwitch(t *testing.T) {
	require.Nil(t, newBench(t, Setup{}).Ventilation())
	b := newBench(t, Setup{Ventilation: true, PersonWaits: true})
	moves := func() bool {
		proven, at, err := b.Ventilation().Airflow(context.Background())
		require.NoError(t, err)
		require.Equal(t, b.Now(), at)
		return proven
	}
	require.True(t, moves())
	require.NoError(t, b.Inject(Fault{ID: "ventilation-lost", For: time.Second}))
	require.False(t, moves())
	b.AdvanceTo(2 * time.Second)
	require.True(t, moves(), "the fan runs again")
	require.NoError(t, b.Inject(Fault{ID: "ventilation-gone"}))
	proven, _, err := b.Ventilation().Airflow(context.Background())
	require.ErrorIs(t, err, hal.ErrGone)
	require.False(t, proven)
}

func TestInputOfTheAirflowSwitch(t *testing.T) {
	b := newBench(t, Setup{Ventilation: true, PersonWaits: true})
	read := func() (inputs []bool) {
		b.Exchange(0, func() {
			var err error
			inputs, err = b.ModuleInputs(AirInput, 1)
			require.NoError(t, err)
		})
		return inputs
	}
	require.Equal(t, []bool{true, true, false, false, false, true}, read(), "what is not wired reads 0")
	require.NoError(t, b.Inject(Fault{ID: "ventilation-lost"}))
	require.False(t, read()[AirInput])
}

// TestRandomLoadsDrawFromTheSameFaults: a seed that is on record means the same load as
// long as this list is the same.
func TestRandomLoadsDrawFromTheSameFaults(t *testing.T) {
	ids := FaultIDs()
	require.True(t, slices.IsSorted(ids))
	for _, k := range Kinds() {
		require.Equal(t, k.Needs != Airflow, slices.Contains(ids, k.ID), k.ID)
		_, err := ParseFault(k.ID + "@1s")
		require.NoError(t, err)
	}
	_, err := ParseFault("fan-lost")
	require.ErrorContains(t, err, "ventilation-lost")
}
