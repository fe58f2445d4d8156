package haltest

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// Changer holds an interlock that tells of movements against its contract. Pulse
// opens and closes a channel again within a millisecond of the rig's time; Wait lets
// that time pass and everything that is ready run.
func Changer(t *testing.T, suite InterlockSuite, pulse func(r InterlockRig)) {
	for _, test := range changerTests {
		passed := t.Run(test.name, func(t *testing.T) {
			SupplySuite{Run: suite.Run}.run(t, func(t *testing.T) {
				rig := suite.Open(t)
				changer, can := rig.Interlock.(hal.Changer)
				require.True(t, can, "it cannot tell")
				rig.Contacts(true, true)
				rig.Wait(time.Millisecond)
				told(changer)
				test.check(t, rig, changer, pulse)
			})
		})
		SupplySuite{Tell: suite.Tell}.tell(test.name, map[bool]string{true: "pass", false: "FAIL"}[passed])
	}
}

var changerTests = []struct {
	name  string
	check func(*testing.T, InterlockRig, hal.Changer, func(InterlockRig))
}{
	{"EveryMovementIsTold", everyMovementIsTold}, {"TellingCoalesces", tellingCoalesces}, {"RestIsSilent", restIsSilent},
	{"ShortPulseIsTold", shortPulseIsTold},
}

// NoChanger tells of an interlock that has to be asked.
func NoChanger(suite InterlockSuite) {
	for _, test := range changerTests {
		SupplySuite{Tell: suite.Tell}.tell(test.name, "-")
	}
}

// told takes what waits.
func told(c hal.Changer) bool {
	select {
	case <-c.Changed():
		return true
	default:
		return false
	}
}

func everyMovementIsTold(t *testing.T, r InterlockRig, c hal.Changer, _ func(InterlockRig)) {
	for _, to := range [][2]bool{{false, true}, {false, false}, {true, false}, {true, true}} {
		r.Contacts(to[0], to[1])
		r.Wait(time.Millisecond)
		require.True(t, told(c), "%v", to)
	}
}

func tellingCoalesces(t *testing.T, r InterlockRig, c hal.Changer, _ func(InterlockRig)) {
	for range 100 {
		r.Contacts(false, false)
		r.Contacts(true, true)
	}
	r.Wait(time.Millisecond)
	require.True(t, told(c))
	require.False(t, told(c), "there is room for one")
	require.Equal(t, 1, cap(c.Changed()))
}

func restIsSilent(t *testing.T, r InterlockRig, c hal.Changer, _ func(InterlockRig)) {
	for range 10 {
		r.Wait(time.Second)
		_, err := r.Interlock.Channels(context.Background())
		require.NoError(t, err)
	}
	require.False(t, told(c))
}

func shortPulseIsTold(t *testing.T, r InterlockRig, c hal.Changer, pulse func(InterlockRig)) {
	pulse(r)
	r.Wait(100 * time.Millisecond)
	channels, err := r.Interlock.Channels(context.Background())
	require.NoError(t, err)
	require.Equal(t, [2]bool{true, true}, channels.Closed, "the pulse is over")
	require.True(t, told(c), "a pulse between two readings is not lost")
}
