package controller

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/virtual"
)

// At five ticks a second the one-shot sees a rising edge each 0.4 s: its second lasts
// through the whole load.
func TestOneShotHoldsAtFiveTicksASecond(t *testing.T) {
	setup := virtual.Setup{Seed: 4, Chain: true, Tick: slowTick, Parts: []virtual.Part{{Area: 25, Count: 8}}}
	bench, err := virtual.New(setup)
	require.NoError(t, err)
	beats := 0
	s := New(Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Thermometer: bench.Thermometer(),
		Contactor: bench.Contactor(), EmergencyStop: bench.EmergencyStop(), Simulated: true},
		bench, &shelf{}, quiet(), Options{ClockWaits: true, Tick: slowTick, Beat: func() { beats++ }})
	res := through(t, s, straw())
	require.Equal(t, record.Complete, res.Outcome, "%+v", res)
	ticks := int(s.Snapshot().Tick)
	assert.LessOrEqual(t, beats, ticks, "nothing but a finished tick feeds")
	assert.Greater(t, beats, ticks-3, "and each does, but for one that a computer's standstill spoilt")
}

// A shorter one would let go between two edges, and is refused with its figure.
func TestOneShotTooShortForSlowTicksIsSaid(t *testing.T) {
	s, _, _ := chained(t, 1)
	for held, want := range map[time.Duration]bool{0: true, 500 * time.Millisecond: false, 800 * time.Millisecond: true, time.Second: true} {
		s.devices.OneShot = held
		assert.Equal(t, want, s.holds(slowTick), held)
		assert.True(t, s.holds(100*time.Millisecond), held)
	}
	s.devices.OneShot = 500 * time.Millisecond
	s.owner.traffic.median = 120 * time.Millisecond
	s.choosePace()
	assert.Equal(t, process.PaceTooSlow, s.owner.pace)
	assert.Contains(t, s.paceWords(), "one-shot of 500ms would let go between two pulses; give it 800ms or more")
}
