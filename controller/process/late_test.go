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
