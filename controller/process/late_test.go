package process

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestALateTickIsNoLostContact: a computer that is late for a moment holds the setpoint
// there, and the current, which lags behind, comes back to its course in a second or
// two. Nothing came off a hook.
func TestALateTickIsNoLostContact(t *testing.T) {
	for _, late := range []float64{0.19, 0.22, 0.24, 0.3, 0.8} {
		for _, moment := range []int{280, 450, 550} {
			k := newTank(load())
			k.series = 1.5
			k.start(t, ContactCheck)
			for range moment {
				k.tick()
			}
			k.tickAfter(late)
			k.tickAfter(0.07)
			for range 60 {
				k.tick()
				require.True(t, k.out.On, "late by %v s at %v V: %v %v", late, k.out.Set, k.out.Trip, k.loop.Findings())
			}
		}
	}
}

// TestABusyMachineGetsTheTimeThatItCost: a setpoint that stands at each third tick, because
// it was late, climbs at half of its pace, and that is no lack of current.
func TestABusyMachineGetsTheTimeThatItCost(t *testing.T) {
	p := load()
	p.Stages[0].LongestRamp = 100 // s, for 70 V at 1 V/s
	k := newTank(p)
	k.start(t, Ramping)
	for k.loop.machine.state == Ramping {
		k.tickAfter(0.1)
		k.tickAfter(0.1)
		k.tickAfter(0.24)
	}
	require.Equal(t, Holding, k.loop.machine.state, "at %.1f V after %.0f s: %v", k.volts, k.now, k.loop.Findings())
	require.Greater(t, k.now, 140.0, "the ramp took longer than its time")
}
