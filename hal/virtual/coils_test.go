package virtual

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// coiled is a bench with a contactor whose coils are set from outside.
type coiled struct {
	*testing.T
	*Bench
	now time.Duration
}

func (c *coiled) set(number int, on bool) {
	c.Exchange(c.now, func() { require.NoError(c, c.SetCoil(number, on)) })
}

func (c *coiled) wait(d time.Duration) {
	c.now += d
	c.Exchange(c.now, func() {})
}

func TestCoilsHoldTheContactor(t *testing.T) {
	c := &coiled{t, newBench(t, Setup{Chain: true, PersonWaits: true}), 0}
	c.set(PulseCoil, true)
	c.wait(100 * time.Millisecond)
	require.False(t, c.Truth().ContactorClosed, "the one-shot is held cleared")
	c.set(PulseCoil, false)
	c.set(DropCoil, true)
	c.wait(100 * time.Millisecond)
	require.False(t, c.Truth().ContactorClosed, "there was no edge yet")
	for range 12 {
		c.set(PulseCoil, true)
		c.wait(100 * time.Millisecond)
		require.True(t, c.Truth().ContactorClosed)
		c.set(PulseCoil, false)
		c.wait(100 * time.Millisecond)
		require.True(t, c.Truth().ContactorClosed)
	}
	c.set(PulseCoil, true)
	c.wait(1100 * time.Millisecond)
	require.False(t, c.Truth().ContactorClosed, "a level is no edge: the one-shot lets go")
	c.set(PulseCoil, false)
	c.set(PulseCoil, true)
	c.wait(100 * time.Millisecond)
	c.set(DropCoil, false)
	c.wait(30 * time.Millisecond)
	require.False(t, c.Truth().ContactorClosed)
	c.Exchange(c.now, func() {
		on, there := c.Coil(PulseCoil)
		require.True(t, on && there)
		on, there = c.Coil(DropCoil)
		require.True(t, !on && there)
		_, there = c.Coil(2)
		require.False(t, there)
	})
}

func TestInputsOfTheModuleFailAlone(t *testing.T) {
	for id, failing := range map[string][2]int{"interlock-gone": {0, 2}, "emergency-stop-gone": {2, 2}, "contactor-gone": {4, 1}, "ventilation-gone": {5, 1}} {
		b := newBench(t, Setup{Chain: true, Ventilation: true, PersonWaits: true, Faults: []Fault{{ID: id}}})
		b.Exchange(0, func() {
			for _, asked := range [][2]int{{0, 2}, {2, 2}, {4, 1}, {5, 1}} {
				inputs, err := b.ModuleInputs(asked[0], asked[1])
				if asked == failing {
					require.Error(t, err, id)
					continue
				}
				require.NoError(t, err, id)
				require.Len(t, inputs, 6)
			}
			require.Equal(t, id == "contactor-gone", b.SetCoil(PulseCoil, true) != nil)
		})
	}
	b := newBench(t, Setup{})
	b.Exchange(0, func() {
		inputs, err := b.ModuleInputs(0, 2)
		require.NoError(t, err)
		require.Len(t, inputs, 2, "no chain, no inputs for it")
		_, there := b.Coil(PulseCoil)
		require.False(t, there)
	})
}

func TestLampsOfTheStackLight(t *testing.T) {
	dark := newBench(t, Setup{})
	dark.Exchange(0, func() {
		_, there := dark.Coil(FirstLamp)
		require.False(t, there, "no stack light, no coils")
	})
	b := newBench(t, Setup{Beacon: true})
	b.Exchange(0, func() {
		require.NoError(t, b.SetCoil(FirstLamp+2, true))
		on, there := b.Coil(FirstLamp + 2)
		require.True(t, on && there)
		_, there = b.Coil(FirstLamp + lampCount)
		require.False(t, there)
	})
	require.Equal(t, [lampCount]bool{2: true}, b.Lamps())
}
