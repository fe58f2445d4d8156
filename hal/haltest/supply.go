package haltest

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// supplyTest is one promise of the contract.
type supplyTest = contractTest[SupplyRig]

func anyRig(SupplyRig) bool { return true }

func needing(faults ...Fault) func(SupplyRig) bool {
	return func(r SupplyRig) bool { return r.can(faults...) }
}

// Supply holds a supply against its contract.
func Supply(t *testing.T, suite SupplySuite) {
	each(t, suite.Run, suite.Tell, suite.Open, slices.Concat(settingTests, switchTests, readingTests, linkTests, truthTests, lostHostTests))
}

// SupplyAtRest holds a supply against what can be seen of its contract without energising
// it, so with anything on its terminals. It leaves both setpoints at their least.
func SupplyAtRest(t *testing.T, suite SupplySuite) {
	each(t, suite.Run, suite.Tell, suite.Open, []supplyTest{
		{"IdentityIsStable", anyRig, identityIsStable},
		{"ReadsZeroWhenOff", anyRig, readsZeroWhenOff},
		{"TimeMovesForward", anyRig, timeMovesForward},
		{"SetReadsBack", func(r SupplyRig) bool { return r.Held != nil }, setReadsBack},
		{"RoundsDownToStep", anyRig, roundsDownToStep},
		{"RangeSendsNothing", anyRig, rangeSendsNothing},
		{"NaNRefused", anyRig, nanRefused},
		{"SetNeverEnergises", anyRig, setNeverEnergises},
		{"LimitsGoToZero", anyRig, limitsGoToZero},
	})
}

// limitsGoToZero, or to their least, which is what zero asks for then.
func limitsGoToZero(t *testing.T, r SupplyRig) {
	limits := r.Supply.Limits()
	volts, err := r.Supply.SetVoltage(context.Background(), 0)
	require.NoError(t, err)
	require.Equal(t, limits.LeastVolts, volts)
	amperes, err := r.Supply.SetCurrent(context.Background(), 0)
	require.NoError(t, err)
	require.Equal(t, limits.LeastAmperes, amperes)
}

// setBoth gives a supply limits that hold: 5 V and 0.1 A.
func setBoth(t *testing.T, r SupplyRig) {
	t.Helper()
	_, err := r.Supply.SetVoltage(context.Background(), 5)
	require.NoError(t, err)
	_, err = r.Supply.SetCurrent(context.Background(), 0.1)
	require.NoError(t, err)
}

// energise switches on with these limits.
func energise(t *testing.T, r SupplyRig) {
	t.Helper()
	setBoth(t, r)
	require.NoError(t, r.Supply.Energise(context.Background()))
}
