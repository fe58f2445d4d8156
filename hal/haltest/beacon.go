package haltest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/hal"
)

// BeaconRig is a beacon and an eye on its lamps.
type BeaconRig struct {
	Beacon hal.Beacon
	Lit    func() string // what can be seen and heard, "" when all is dark and quiet
	Wait   func()        // lets lamps follow that do so later; nil: they follow at once
	Gone   func()        // nil: it cannot be taken away
}

// BeaconSuite says how to build rigs.
type BeaconSuite struct {
	Run  func(t *testing.T, test func(t *testing.T)) // nil: as it is
	Open func(t *testing.T) BeaconRig
	Tell func(test, outcome string) // may be nil
}

// Beacon holds a beacon against its contract.
func Beacon(t *testing.T, suite BeaconSuite) {
	each(t, suite.Run, suite.Tell, suite.Open, []contractTest[BeaconRig]{
		{"EachSignalLooksItsOwn", nil, eachSignalLooksItsOwn},
		{"UnknownSignalIsError", nil, unknownSignalIsError},
		{"UnreachableBeaconIsError", func(r BeaconRig) bool { return r.Gone != nil }, beaconGone},
	})
}

func (r BeaconRig) wait() {
	if r.Wait != nil {
		r.Wait()
	}
}

func eachSignalLooksItsOwn(t *testing.T, r BeaconRig) {
	seen := map[string]hal.Signal{}
	require.Empty(t, r.Lit(), "it starts dark")
	for s := hal.SignalOff; s <= hal.SignalTrip; s++ {
		require.NoError(t, r.Beacon.Show(s))
		r.wait()
		before, same := seen[r.Lit()]
		require.False(t, same, "signals %d and %d look alike: %s", before, s, r.Lit())
		seen[r.Lit()] = s
	}
	require.NoError(t, r.Beacon.Halt())
	require.Empty(t, r.Lit())
}

func unknownSignalIsError(t *testing.T, r BeaconRig) {
	require.ErrorIs(t, r.Beacon.Show(hal.SignalTrip+1), hal.ErrRange)
}

func beaconGone(t *testing.T, r BeaconRig) {
	r.Gone()
	if r.Wait != nil { // it is known once it was tried, which may be before Show returns
		if err := r.Beacon.Show(hal.SignalEnergised); err != nil {
			require.ErrorIs(t, err, hal.ErrGone)
		}
		r.wait()
	}
	require.ErrorIs(t, r.Beacon.Show(hal.SignalReady), hal.ErrGone)
	require.ErrorIs(t, r.Beacon.Halt(), hal.ErrGone)
}
