package haltest_test

import (
	"context"
	"flag"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/bench"
	"anodized/hal/haltest"
	"anodized/profiles"
)

var benchFile = flag.String("bench-file", "", "the bench file of a real bench, for TestRealBench; without it a virtual one stands in")

// TestRealBench holds the supply of a real bench against what can be seen of its contract
// without energising anything, and the rest of the bench against its first reading:
//
//	go test -v -run TestRealBench ./hal/haltest -args -bench-file /etc/anodized/bench.yaml
func TestRealBench(t *testing.T) {
	set := benchOfFlag(t)
	on, err := set.Supply.Energised(t.Context())
	require.NoError(t, err)
	require.False(t, on, "the output is on: nothing is tried")
	told := newTable("this bench")
	haltest.SupplyAtRest(t, haltest.SupplySuite{Tell: told.of("this bench"), Open: func(t *testing.T) haltest.SupplyRig {
		return haltest.SupplyRig{Supply: set.Supply, Held: func() (volts, amperes float64) {
			state, err := set.Supply.Check(context.Background())
			require.NoError(t, err)
			return float64(state.SetVolts), float64(state.LimitAmperes)
		}}
	}})
	t.Log("\n" + told.String())
	firstReadings(t, set)
}

// benchOfFlag opens the bench of the flag, or that of a virtual bench on sockets.
func benchOfFlag(t *testing.T) *bench.Set {
	if *benchFile == "" {
		_, set, _ := listen(t)
		return set
	}
	text, err := os.ReadFile(*benchFile)
	require.NoError(t, err)
	file, err := profiles.ReadBench(*benchFile, text)
	require.NoError(t, err)
	set, err := bench.Open(t.Context(), file, nil)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, set.Close()) })
	return set
}

// firstReadings are of the lid switch, and of what else the bench has: where the contacts
// stand is not asked, whether they can be read is.
func firstReadings(t *testing.T, set *bench.Set) {
	ctx := context.Background()
	lid, err := set.Interlock.Channels(ctx)
	require.NoError(t, err, "the lid switch")
	t.Logf("lid switch: closed %v", lid.Closed)
	if set.EmergencyStop != nil {
		var stop hal.Channels
		stop, err = set.EmergencyStop.Contacts(ctx)
		require.NoError(t, err, "the emergency stop")
		t.Logf("emergency stop: closed %v", stop.Closed)
	}
	if set.Contactor != nil {
		closed, err := set.Contactor.Closed(ctx)
		require.NoError(t, err, "the contactor")
		require.False(t, closed, "nobody pulses it")
	}
}
