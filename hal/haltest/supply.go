package haltest

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// supplyTest is one promise of the contract. It runs where the rig has what it needs.
type supplyTest struct {
	name  string
	needs func(SupplyRig) bool
	check func(*testing.T, SupplyRig)
}

func anyRig(SupplyRig) bool { return true }

func needing(faults ...Fault) func(SupplyRig) bool {
	return func(r SupplyRig) bool { return r.can(faults...) }
}

// Supply holds a supply against its contract.
func Supply(t *testing.T, suite SupplySuite) {
	var hands SupplyRig
	suite.run(t, func(t *testing.T) { hands = suite.Open(t) })
	var without []string
	for _, test := range slices.Concat(settingTests, switchTests, readingTests, linkTests, truthTests) {
		if !test.needs(hands) {
			without = append(without, test.name)
			suite.tell(test.name, "-")
			continue
		}
		passed := t.Run(test.name, func(t *testing.T) {
			suite.run(t, func(t *testing.T) { test.check(t, suite.Open(t)) })
		})
		suite.tell(test.name, map[bool]string{true: "pass", false: "FAIL"}[passed])
	}
	if len(without) > 0 {
		t.Logf("this rig has no hands for: %s", strings.Join(without, ", "))
	}
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
