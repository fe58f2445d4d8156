package virtual

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal/unit"
)

// TestAResistorHangsInPlaceOfTheBath: Ohm's law, and the current limit.
func TestAResistorHangsInPlaceOfTheBath(t *testing.T) {
	b, err := New(Setup{Dummy: 100, Parts: []Part{{Area: 25}}})
	require.NoError(t, err)
	s := b.Supply()
	for _, c := range []struct{ set, limit, volts, amperes float64 }{{50, 1, 50, 0.5}, {50, 0.2, 20, 0.2}} {
		_, err = s.SetVoltage(t.Context(), 50)
		require.NoError(t, err)
		_, err = s.SetCurrent(t.Context(), unit.Amperes(c.limit))
		require.NoError(t, err)
		require.NoError(t, s.Energise(t.Context()))
		b.AdvanceTo(b.Now().Add(5 * time.Second).Sub(Epoch))
		truth := b.Truth()
		assert.InDelta(t, c.volts, truth.Volts, 0.01)
		assert.InDelta(t, c.amperes, truth.Amperes, 0.001)
	}
	_, err = New(Setup{Dummy: -1})
	require.ErrorContains(t, err, "dummy load")
}
