package haltest

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

var truthTests = []supplyTest{
	{"CheckTellsWhatIsHeld", anyRig, checkTellsWhatIsHeld},
	{"PanelChangeSeen", needing(KnobTurned, OutputTouched), panelChangeSeen},
	{"KnobIsNotOverwritten", needing(KnobTurned), knobIsNotOverwritten},
	{"RestartSeen", needing(Restart), restartSeen},
	{"TripSeen", needing(Trip), tripSeen},
	{"QueueOverflow", needing(QueueOverflow), queueOverflow},
}

func checkTellsWhatIsHeld(t *testing.T, r SupplyRig) {
	energise(t, r)
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.InDelta(t, 5, float64(state.SetVolts), 1e-9)
	require.InDelta(t, 0.1, float64(state.LimitAmperes), 1e-9)
	require.True(t, state.Output)
	require.False(t, state.Restarted, "the switching on before we opened it is no restart")
	require.Empty(t, state.Tripped)
	require.Empty(t, state.Errors)
}

func panelChangeSeen(t *testing.T, r SupplyRig) {
	energise(t, r)
	r.do(KnobTurned)
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.InDelta(t, 3.21, float64(state.SetVolts), 1e-9)
	r.do(OutputTouched)
	state, err = r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.False(t, state.Output)
}

// knobIsNotOverwritten: what was turned by hand while the output is on is told by the
// next setting, and left as it is.
func knobIsNotOverwritten(t *testing.T, r SupplyRig) {
	energise(t, r)
	r.do(KnobTurned)
	_, err := r.Supply.SetVoltage(context.Background(), 6)
	require.ErrorIs(t, err, hal.ErrLocal)
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.InDelta(t, 3.21, float64(state.SetVolts), 1e-9)
	require.NoError(t, r.Supply.Halt(context.Background()))
	setBoth(t, r)
}

func restartSeen(t *testing.T, r SupplyRig) {
	energise(t, r)
	r.do(Restart)
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.True(t, state.Restarted)
	require.False(t, state.Output)
	state, err = r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.False(t, state.Restarted, "told once")
}

func tripSeen(t *testing.T, r SupplyRig) {
	energise(t, r)
	r.do(Trip)
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.NotEmpty(t, state.Tripped, "in the instrument's own words")
	require.False(t, state.Output)
}

func queueOverflow(t *testing.T, r SupplyRig) {
	r.do(QueueOverflow)
	state, err := r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.Contains(t, strings.Join(state.Errors, "\n"), "-350")
	state, err = r.Supply.Check(context.Background())
	require.NoError(t, err)
	require.Empty(t, state.Errors, "the queue was emptied")
}
