package haltest_test

import (
	"context"
	"flag"
	"math"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/bench"
	"anodized/hal/haltest"
	"anodized/hal/virtual/front"
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

// benchOfFlag opens the bench of the flag, or that of a virtual bench on a serial line with
// all that a bench can have.
func benchOfFlag(t *testing.T) *bench.Set {
	if *benchFile == "" {
		_, set, _ := listen(t, func(o *front.Options) {
			o.RTUTerminal, o.Setup.Chain, o.Setup.Voltmeter, o.Setup.Beacon = true, true, true, true
		})
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
// stand is not asked, whether they can be read is. Each lamp is lit for a moment, for the
// person at the bench to look at.
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
	if set.Ventilation != nil {
		proven, _, err := set.Ventilation.Airflow(ctx)
		require.NoError(t, err, "the airflow switch")
		t.Logf("airflow switch: proven %v", proven)
	}
	if set.Contactor != nil {
		closed, err := set.Contactor.Closed(ctx)
		require.NoError(t, err, "the contactor")
		require.False(t, closed, "nobody pulses it")
	}
	slowReadings(t, set)
	if set.Beacon != nil {
		lightUp(t, set.Beacon)
	}
}

// firstWait is how long a slow device may take for its first reading.
const firstWait = 10 * time.Second

// slowReadings are of what reads by itself: a bath between freezing and boiling, and a cell
// without dangerous volts, since nothing is energised.
func slowReadings(t *testing.T, set *bench.Set) {
	if set.Thermometer != nil {
		celsius := first(t, "bath thermometer", set.Thermometer.Temperature)
		t.Logf("bath thermometer: %.2f °C", float64(celsius))
		require.True(t, celsius > -5 && celsius < 100, "a bath of %.2f °C", float64(celsius))
	}
	if set.Voltmeter != nil {
		volts := first(t, "voltmeter", set.Voltmeter.Voltage)
		t.Logf("voltmeter across the cell: %.3f V", float64(volts))
		require.Less(t, math.Abs(float64(volts)), 5.0, "the cell carries volts while the supply is off")
	}
}

// first waits for a reading. It looks again and again, since a slow device tells nobody.
func first[Q ~float64](t *testing.T, what string, read func(context.Context) (Q, time.Time, error)) (value Q) {
	t.Helper()
	var err error
	require.Eventually(t, func() bool {
		value, _, err = read(context.Background())
		return err == nil
	}, firstWait, 20*time.Millisecond, "%s: no reading", what)
	require.NoError(t, err)
	return value
}

// lookAtIt is how long a person needs to see a lamp.
const lookAtIt = time.Second

// lightUp shows each signal. What a stack light does with it, only a person can see.
func lightUp(t *testing.T, beacon hal.Beacon) {
	for signal := hal.SignalReady; signal <= hal.SignalTrip; signal++ {
		require.NoError(t, beacon.Show(signal), "the stack light, signal %d", signal)
		if *benchFile != "" {
			<-time.After(lookAtIt)
		}
	}
	require.NoError(t, beacon.Halt(), "the stack light goes out")
	t.Log("stack light: every signal was shown")
}
