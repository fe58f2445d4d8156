package bench

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
	"anodized/hal/virtual"
	"anodized/hal/virtual/front"
)

// TestWholeChainOnARemoteModule opens everything that a bench file may hang on a module:
// emergency stop, contactor, stack light and voltmeter, over TCP and on the line that they
// share with the supply, and moves each of them.
func TestWholeChainOnARemoteModule(t *testing.T) {
	for name, arrange := range map[string]func(*front.Options){
		"TCP": func(o *front.Options) {},
		"RTU": func(o *front.Options) { o.RTUTerminal = true },
	} {
		t.Run(name, func(t *testing.T) {
			file, plant := standingBench(t, func(o *front.Options) {
				o.Setup.Chain, o.Setup.Voltmeter, o.Setup.Beacon, o.Setup.Ventilation = true, true, true, true
				arrange(o)
			})
			set := openPatiently(t, file)
			defer func() { require.NoError(t, set.Close()) }()
			require.Equal(t, time.Second, set.OneShot)
			require.Equal(t, 500*time.Millisecond, set.MeterSettle)
			require.False(t, mirror(t, set), "opened dropped")
			stopIsRead(t, set, plant)
			airflowIsRead(t, set, plant)
			contactorFollows(t, set)
			meterFollows(t, set)
			lampsFollow(t, set, plant)
		})
	}
}

func mirror(t *testing.T, set *Set) bool {
	t.Helper()
	closed, err := set.Contactor.Closed(t.Context())
	require.NoError(t, err)
	return closed
}

func stopIsRead(t *testing.T, set *Set, plant *virtual.Bench) {
	t.Helper()
	contacts, err := set.EmergencyStop.Contacts(t.Context())
	require.NoError(t, err)
	require.Equal(t, [2]bool{true, true}, contacts.Closed)
	require.NoError(t, plant.Inject(virtual.Fault{ID: "emergency-stop-one-contact", Part: 2, For: time.Millisecond}))
	require.Eventually(t, func() bool {
		contacts, err := set.EmergencyStop.Contacts(t.Context())
		return err == nil && contacts.Closed == [2]bool{true, true}
	}, patience, time.Millisecond, "released")
	require.NoError(t, plant.Inject(virtual.Fault{ID: "emergency-stop-one-contact", Part: 2}))
	contacts, err = set.EmergencyStop.Contacts(t.Context())
	require.NoError(t, err)
	require.Equal(t, [2]bool{true, false}, contacts.Closed)
}

func airflowIsRead(t *testing.T, set *Set, plant *virtual.Bench) {
	t.Helper()
	for _, want := range []bool{true, false} {
		proven, _, err := set.Ventilation.Airflow(t.Context())
		require.NoError(t, err)
		require.Equal(t, want, proven)
		require.NoError(t, plant.Inject(virtual.Fault{ID: "ventilation-lost"}))
	}
}

// contactorFollows: pulses close it, and nothing but pulses keeps it closed.
func contactorFollows(t *testing.T, set *Set) {
	t.Helper()
	require.Eventually(t, func() bool { return set.Contactor.Beat() == nil && mirror(t, set) }, patience, 10*time.Millisecond)
	require.NoError(t, set.Contactor.Halt())
	require.Eventually(t, func() bool { return !mirror(t, set) }, patience, 10*time.Millisecond)
}

// meterFollows: the meter hangs behind the contactor, and sees what the supply gives
// while that is closed.
func meterFollows(t *testing.T, set *Set) {
	t.Helper()
	_, err := set.Supply.SetVoltage(t.Context(), 20)
	require.NoError(t, err)
	_, err = set.Supply.SetCurrent(t.Context(), 3)
	require.NoError(t, err)
	require.NoError(t, set.Supply.Energise(t.Context()))
	require.Eventually(t, func() bool {
		volts, _, err := set.Voltmeter.Voltage(t.Context())
		return set.Contactor.Beat() == nil && err == nil && volts > 19.5 && volts < 20.5
	}, patience, 10*time.Millisecond)
	require.NoError(t, set.Supply.Halt(t.Context()))
}

func lampsFollow(t *testing.T, set *Set, plant *virtual.Bench) {
	t.Helper()
	require.NoError(t, set.Beacon.Show(hal.SignalTrip))
	require.Eventually(t, func() bool {
		lit := plant.Lamps() // red, yellow, green, blue, white, sounder, chime
		return lit[0] && lit[5] && !lit[1] && !lit[2] && !lit[3] && !lit[4] && !lit[6]
	}, patience, 10*time.Millisecond)
}
