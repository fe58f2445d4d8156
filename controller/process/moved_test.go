package process

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/hal/unit"
	"anodized/profiles"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// movable are the thresholds that the machine itself judges by: a load that is a little
// beyond one of this value (side is 1) or a little within it (-1), and whether it is told.
var movable = map[string]func(t *testing.T, p plan.Plan, value, side float64) bool{
	"asked area": func(t *testing.T, p plan.Plan, value, side float64) bool {
		k := newTank(p)
		k.area *= value * (1 - 0.06*side)
		k.start(t, ContactCheck)
		for k.out.State == ContactCheck && k.out.Question == "" {
			k.tick()
		}
		return k.out.Question == fault.AreaOverstated
	},
	"over volts": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return ends(t, p, Ramping, func(k *tank) { k.in.Reading.Volts += unit.Volts(value + 0.02*side) }) == fault.OverVoltage
	},
	"over share": func(t *testing.T, p plan.Plan, value, side float64) bool {
		p.Watch.OverVolts, p.CeilingVolts = 0.3, 75
		return ends(t, p, Holding, func(k *tank) { k.in.Reading.Volts += unit.Volts(70*value + 0.02*side) }) == fault.OverVoltage
	},
	"bath hottest": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return ends(t, p, Holding, func(k *tank) { k.in.Bath = Bath{true, true, unit.Celsius(value + 0.1*side), k.in.Now} }) == fault.BathTooHot
	},
	"offset refused": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return rests(p, value*(1+0.05*side)).missingSupply()&CurrentNotZero != 0
	},
	"offset share": func(t *testing.T, p plan.Plan, value, side float64) bool {
		return rests(p, value*(1+0.05*side)).Zero() != 0
	},
}

// TestTheMachineMovesWithItsThresholds, to both ends of what a profile may set.
func TestTheMachineMovesWithItsThresholds(t *testing.T) {
	for _, threshold := range profiles.Thresholds() {
		told, known := movable[threshold.Key]
		if !known {
			continue
		}
		t.Run(threshold.Key, func(t *testing.T) {
			for _, value := range []float64{threshold.Least, threshold.Most} {
				p := load()
				*threshold.Of(&p.Watch) = value
				assert.True(t, told(t, p, value, 1), "just beyond %v", value)
				assert.False(t, told(t, p, value, -1), "just within %v", value)
			}
		})
	}
}

// ends runs a load to five seconds after a state, changes its input for a second, and tells
// what trips it; "" where nothing does.
func ends(t *testing.T, p plan.Plan, state State, change func(*tank)) fault.Code {
	t.Helper()
	k := newTank(p)
	k.start(t, state)
	for range 50 {
		k.tick()
	}
	require.True(t, k.out.On)
	k.before = change
	for range 10 {
		k.tick()
	}
	return k.out.Trip
}

// rests is a machine whose supply reads a share of the end current with its output off, in
// fine steps.
func rests(p plan.Plan, share float64) *Machine {
	fine := bench
	fine.AmpereStep = 0.0001
	m := New(fine)
	m.Load(p)
	for n := range zeroWanted {
		m.now = unit.Seconds(n) / 10
		m.reading = Reading{OK: true, Amperes: unit.Amperes(share) * p.End.Current, At: m.now}
		m.zero.push(m.reading)
	}
	return m
}
