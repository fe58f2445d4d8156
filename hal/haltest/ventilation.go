package haltest

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// VentilationRig is an airflow switch and the hands on it. Contact lets the rig's own
// time pass until a closed contact counts.
type VentilationRig struct {
	Ventilation hal.Ventilation
	Contact     func(closed bool)
	Hands       map[Fault]func() // Gone, Silence
}

// VentilationSuite says how to build rigs.
type VentilationSuite struct {
	Run  func(t *testing.T, test func(t *testing.T))
	Open func(t *testing.T) VentilationRig
	Tell func(test, outcome string) // may be nil
}

// Ventilation holds an airflow switch against its contract.
func Ventilation(t *testing.T, suite VentilationSuite) {
	each(t, suite.Run, suite.Tell, suite.Open, []contractTest[VentilationRig]{
		{"ContactTellsWhetherTheAirMoves", nil, airMoves},
		{"UnreadableSwitchProvesNothing", func(r VentilationRig) bool { return len(r.Hands) > 0 }, airUnreadable},
		{"CancelledReadingProvesNothing", nil, airCancelled},
	})
}

func airMoves(t *testing.T, r VentilationRig) {
	for range 10 {
		for _, closed := range []bool{true, false} {
			r.Contact(closed)
			proven, at, err := r.Ventilation.Airflow(context.Background())
			require.NoError(t, err)
			require.Equal(t, closed, proven)
			require.False(t, at.IsZero())
		}
	}
}

func airUnreadable(t *testing.T, r VentilationRig) {
	for fault, hand := range r.Hands {
		r.Contact(true)
		hand()
		proven, _, err := r.Ventilation.Airflow(context.Background())
		require.Error(t, err, fault)
		require.False(t, proven, fault)
		return // one a rig: what is gone stays gone
	}
}

func airCancelled(t *testing.T, r VentilationRig) {
	r.Contact(true)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	proven, _, err := r.Ventilation.Airflow(ctx)
	require.ErrorIs(t, err, context.Canceled)
	require.False(t, proven)
}
