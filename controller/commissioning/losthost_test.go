package commissioning

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/proof"
	"anodized/hal/virtual"
)

// TestTheLostHostTimerIsProvenAndTakenAwayAgain with the output off, where the bench has one.
func TestTheLostHostTimerIsProvenAndTakenAwayAgain(t *testing.T) {
	timer := func(l proof.Limit) bool { return l.What == "lost-host timer" }
	b, v := rig(t, virtual.Setup{Chain: true, LostHost: 2})
	report, err := b.Prove(t.Context(), Options{})
	require.NoError(t, err)
	at := slices.IndexFunc(report.Limits, timer)
	require.GreaterOrEqual(t, at, 0)
	assert.True(t, report.Limits[at].OK)
	assert.InDelta(t, 2, float64(report.Limits[at].Held), 0)
	assert.True(t, report.OK)
	assert.False(t, v.Truth().LostHostArmed)
	assert.False(t, v.Truth().Energised)

	b, _ = rig(t, virtual.Setup{Chain: true, LostHost: 2, Faults: []virtual.Fault{{ID: "setpoint-ignored"}}})
	report, err = b.Prove(t.Context(), Options{})
	require.NoError(t, err)
	at = slices.IndexFunc(report.Limits, timer)
	require.GreaterOrEqual(t, at, 0)
	assert.False(t, report.Limits[at].OK)
	assert.Contains(t, report.Limits[at].Why, "the supply says false, 60 s")
	assert.Contains(t, report.Wrong, "lost-host timer: "+report.Limits[at].Why)

	b, _ = rig(t, virtual.Setup{Chain: true})
	report, err = b.Prove(t.Context(), Options{})
	require.NoError(t, err)
	assert.False(t, slices.ContainsFunc(report.Limits, timer))
}
