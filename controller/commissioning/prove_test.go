package commissioning

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/proof"
	"anodized/hal/virtual"
)

func TestAGoodBenchIsProven(t *testing.T) {
	b, v := rig(t, virtual.Setup{Chain: true})
	report, err := b.Prove(t.Context(), Options{})
	require.NoError(t, err)
	assert.True(t, report.Stop.OK)
	assert.Empty(t, report.Wrong)
	assert.Empty(t, report.NotProven)
	assert.True(t, report.OK)
	assert.True(t, report.Simulated)
	require.Len(t, report.Devices, 7)
	for _, d := range report.Devices {
		assert.True(t, d.OK, d.Name)
	}
	assert.Equal(t, 10, report.Link.RateHz)
	assert.Greater(t, len(report.Limits), 10)
	assert.True(t, report.Interlock.BothOpen)
	assert.InDelta(t, 20, float64(report.Contactor.ClosesMS), 20)
	assert.InDelta(t, 25, float64(report.Contactor.DropMS), 20)
	assert.Less(t, float64(report.Contactor.LapseMS), 1100.0)
	assert.InDelta(t, 0.001, float64(report.Zero.AmpereStep), 1e-6)
	assert.InDelta(t, 2*0.001/0.15e-3, float64(report.Zero.SmallestRack), 0.1)
	truth := v.Truth()
	assert.False(t, truth.Energised, "nothing was energised")
	assert.False(t, truth.ContactorClosed)
	state, err := b.Supply.Check(t.Context())
	require.NoError(t, err)
	assert.Zero(t, state.SetVolts)
	assert.Zero(t, state.LimitAmperes)
	text, err := json.Marshal(report)
	require.NoError(t, err)
	assert.Contains(t, string(text), `"not_proven":[]`)
}

// TestTheAirflowSwitchIsReadWithTheRest: a fan that stands is no fault of the bench, a
// switch that cannot be read ends the proof.
func TestTheAirflowSwitchIsReadWithTheRest(t *testing.T) {
	for fault, value := range map[string]string{"": "air moves", "ventilation-lost": "not proven", "ventilation-gone": ""} {
		setup := virtual.Setup{Ventilation: true}
		if fault != "" {
			setup.Faults = []virtual.Fault{{ID: fault}}
		}
		b, _ := rig(t, setup)
		report, err := b.Prove(t.Context(), Options{NoStop: true, Samples: 30})
		if value == "" {
			require.ErrorContains(t, err, "ventilation: reading the airflow switch", fault)
			continue
		}
		require.NoError(t, err, fault)
		at := slices.IndexFunc(report.Devices, func(d proof.Device) bool { return d.Name == "ventilation" })
		require.GreaterOrEqual(t, at, 0)
		assert.True(t, report.Devices[at].OK, fault)
		assert.Equal(t, value, report.Devices[at].Value, fault)
	}
}

// TestWhatIsWrongIsFound: each fault of the bench, and what the report says of it.
func TestWhatIsWrongIsFound(t *testing.T) {
	for fault, want := range map[string]struct {
		wrong, unproven string
	}{
		"setpoint-ignored":                  {wrong: "voltage of"},
		"current-offset":                    {wrong: "A with the output off, more than 0.005 A"},
		"interlock-stuck-closed,part=1":     {wrong: "interlock: channel 1 was never seen open"},
		"interlock-stuck-closed,part=all":   {unproven: "interlock: neither contact was seen open"},
		"interlock-disagrees":               {wrong: "interlock: its two contacts differed"},
		"no-reading":                        {},
		"contactor-stuck-open":              {wrong: "contactor: the mirror contact was not seen closed"},
		"emergency-stop-one-contact,part=1": {wrong: "emergency stop"},
	} {
		t.Run(fault, func(t *testing.T) {
			parsed, err := virtual.ParseFault(fault)
			require.NoError(t, err)
			b, v := rig(t, virtual.Setup{Chain: true, Faults: []virtual.Fault{parsed}})
			report, err := b.Prove(t.Context(), Options{NoStop: true, Samples: 30})
			if want.wrong+want.unproven == "" {
				require.Error(t, err)
			} else {
				require.NoError(t, err)
			}
			assert.False(t, report.OK)
			assert.Contains(t, strings.Join(report.Wrong, "\n"), want.wrong)
			assert.Contains(t, strings.Join(report.NotProven, "\n"), want.unproven)
			assert.False(t, v.Truth().Energised)
		})
	}
}

func TestALidThatNobodyLiftsIsNotProven(t *testing.T) {
	b, _ := rig(t, virtual.Setup{})
	b.NextRack = nil
	report, err := b.Prove(t.Context(), Options{Samples: 10, Patience: time.Second})
	require.NoError(t, err)
	assert.Empty(t, report.Wrong)
	require.Len(t, report.NotProven, 1)
	assert.True(t, report.Interlock.Asked)
	report, err = b.Prove(t.Context(), Options{Samples: 10, NoLid: true})
	require.NoError(t, err)
	assert.False(t, report.Interlock.Asked)
	assert.False(t, report.OK)
	assert.Nil(t, report.Stop)
	assert.Nil(t, report.Contactor)
}

// TestAProofThatIsCutShortEndsOff wherever it is cut.
func TestAProofThatIsCutShortEndsOff(t *testing.T) {
	for cut := range 60 {
		b, v := rig(t, virtual.Setup{Chain: true})
		ctx, cancel := context.WithCancel(t.Context())
		wait, left := b.Wait, cut*5
		b.Wait = func(ctx context.Context, d time.Duration) error {
			if left--; left < 0 {
				cancel()
			}
			return wait(ctx, d)
		}
		_, err := b.Prove(ctx, Options{Samples: 20, NoStop: true})
		cancel()
		if err == nil {
			continue
		}
		require.ErrorIs(t, err, context.Canceled)
		v.AdvanceTo(v.Now().Add(time.Second).Sub(virtual.Epoch))
		assert.False(t, v.Truth().ContactorClosed)
		state, err := b.Supply.Check(t.Context())
		require.NoError(t, err)
		assert.Zero(t, state.SetVolts)
		assert.False(t, state.Output)
	}
}
