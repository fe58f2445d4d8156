package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/plan"
	"anodized/profiles"
)

// What the supply does not have is no plan: nothing is energised to find it out.
func TestVoltsBeyondTheSupplyAreNoPlan(t *testing.T) {
	for name, one := range map[string]struct {
		change func(*plan.Request)
		says   string
	}{
		"target": {func(r *plan.Request) { r.Supply.HighestVolts = 20 }, "the target 28 V is above the 20 V of this supply"},
		"ceiling": {func(r *plan.Request) { r.Supply.HighestVolts, r.Profile.Ceiling = 30, 31 },
			"the ceiling 31 V is above the 30 V of this supply: lower it, or leave it out for 28.5 V"},
		"no room for a ceiling": {func(r *plan.Request) { r.Supply.HighestVolts = 28 },
			"needs a ceiling of 28.5 V, above the 28 V of this supply: go to 27.5 V at most"},
	} {
		r := quiet(t)
		one.change(&r)
		_, err := plan.Build(r)
		require.ErrorIs(t, err, plan.ErrBeyondSupply, name)
		assert.ErrorContains(t, err, one.says, name)
	}
}

func TestColoursAreLookedForBelowTheCeilingOfTheSupply(t *testing.T) {
	r := quiet(t)
	r.Profile.Target = profiles.Target{Hex: build(t, r).Expected.Hex}
	r.Supply.HighestVolts = 28.2
	p := build(t, r)
	assert.LessOrEqual(t, float64(p.CeilingVolts), 28.2)
	assert.InDelta(t, 27.7, float64(p.TargetVolts), 0.011)
}
