package commissioning

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/proof"
	"anodized/hal/virtual"
	"anodized/profiles"
)

// rig is a bench on the virtual bench in memory, whose clock the proof moves.
func rig(t *testing.T, setup virtual.Setup) (Bench, *virtual.Bench) {
	t.Helper()
	setup.PersonWaits = true
	if setup.Parts == nil && setup.Dummy == 0 {
		setup.Parts = []virtual.Part{{Area: 25, Count: 8}}
	}
	v, err := virtual.New(setup)
	require.NoError(t, err)
	identity, err := v.Supply().Identify(t.Context())
	require.NoError(t, err)
	return Bench{
		Devices: controller.Devices{Supply: v.Supply(), Interlock: v.Interlock(), Thermometer: v.Thermometer(), Contactor: v.Contactor(),
			EmergencyStop: v.EmergencyStop(), Ventilation: v.Ventilation(), Simulated: true, Identity: identity},
		SetUp: proof.Permit(profiles.Bench{}), Now: v.Now, Pacer: v, Clock: true, NextRack: v.NextRack,
		Press: func() { require.NoError(t, v.Inject(virtual.Fault{ID: "emergency-stop"})) },
		Wait: func(ctx context.Context, d time.Duration) error {
			v.AdvanceTo(v.Now().Add(max(d, 0)).Sub(virtual.Epoch))
			return ctx.Err()
		},
		Tell: func(format string, values ...any) { t.Logf(format, values...) },
	}, v
}
