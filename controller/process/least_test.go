package process

import (
	"testing"

	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// leastOf is a tank behind a supply that holds this at least, whatever it is told.
func leastOf(volts unit.Volts, amperes unit.Amperes) *tank {
	cfg := bench
	cfg.LeastVolts, cfg.LeastAmperes = volts, amperes
	k := newTank(load())
	k.loop = NewLoop(cfg)
	k.loop.Load(load())
	k.before = func(k *tank) {
		k.in.Held.Set, k.in.Held.Limit = max(k.in.Held.Set, volts), max(k.in.Held.Limit, amperes)
	}
	return k
}

// TestLoadBeginsAtTheLeastOfTheSupply, and never asks for less while it is on.
func TestLoadBeginsAtTheLeastOfTheSupply(t *testing.T) {
	k := leastOf(1.5, 0.05)
	k.start(t, ContactCheck)
	assert.Equal(t, unit.Volts(1.5), k.out.Set)
	for k.out.State.Energised() {
		require.GreaterOrEqual(t, k.out.Set, unit.Volts(1.5))
		k.tick()
	}
	assert.Equal(t, Complete, k.untilEnd(t).State, "trip %q", k.out.Trip)
}

// TestLessThanTheSupplyCanBeSetToIsRefused: its limit, or its contact check, would not hold.
func TestLessThanTheSupplyCanBeSetToIsRefused(t *testing.T) {
	for _, k := range []*tank{leastOf(8.1, 0), leastOf(0, 1.1)} {
		k.in.Event = Start
		assert.Equal(t, Refused, k.untilEnd(t).State)
		assert.NotZero(t, k.out.Reasons&BelowSupply)
	}
}
