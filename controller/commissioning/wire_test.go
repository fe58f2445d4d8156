package commissioning

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/proof"
	"anodized/hal/bench"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
	"anodized/profiles"
)

// TestABenchIsProvenOverItsWires: SCPI and Modbus over TCP, in real time; its own person
// moves the lid.
func TestABenchIsProvenOverItsWires(t *testing.T) {
	for name, o := range map[string]front.Options{"scpi": {}, "modbus": {ModbusListen: "127.0.0.1:0"},
		"modbus, cannot be set to zero": {ModbusListen: "127.0.0.1:0", LeastVolts: 1.5, LeastAmperes: 0.05}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			o.Setup = virtual.Setup{Parts: []virtual.Part{{Area: 25}}}
			file := served(t, o)
			set, err := bench.Open(t.Context(), file, nil)
			require.NoError(t, err)
			b := Bench{Devices: controller.Devices{Supply: set.Supply, Interlock: set.Interlock, Simulated: set.Simulated, Identity: set.Identity},
				SetUp: proof.Permit(file), Now: time.Now, Wait: really, Tell: t.Logf}
			report, err := b.Prove(t.Context(), Options{Samples: 10})
			require.NoError(t, err)
			require.NoError(t, set.Close())
			assert.True(t, report.Simulated)
			assert.True(t, report.Interlock.OK, report.Interlock.Why)
			for _, l := range report.Limits {
				assert.True(t, l.OK, "%+v", l)
			}
			assert.True(t, report.Zero.OK, report.Zero.Why)
			assert.Positive(t, float64(report.Link.Traffic.Median))
		})
	}
}

func really(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(max(d, 0)):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func served(t *testing.T, o front.Options) profiles.Bench {
	t.Helper()
	served, err := front.Listen(o)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- served.Serve(ctx) }()
	t.Cleanup(func() {
		stop()
		require.NoError(t, <-ended)
	})
	file, err := profiles.ReadBench("bench.yaml", []byte(served.BenchFile()))
	require.NoError(t, err)
	return file
}
