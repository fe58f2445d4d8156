package process

import (
	"testing"

	"anodized/hal/unit"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// resistorTank is a tank with a resistor in place of its bath.
func resistorTank(ohms unit.Ohms) (*tank, *ResistorLoop) {
	k := newTank(load())
	loop := NewResistorLoop(k.loop, Resistor{Ohms: ohms, Read: func(int) bool { return false }})
	return k, loop
}

// TestResistorNeverStaysOn throws anything at a test with a resistor. Whatever comes, it
// is on in the energised states alone, off in the tick that sees an open lid, a stop or
// a second without a reading, and on again by a new start only.
func TestResistorNeverStaysOn(t *testing.T) {
	reached := map[State]int{}
	rapid.Check(t, func(t *rapid.T) {
		k, loop := resistorTank(100)
		in, now, was := k.in, unit.Seconds(0), Command{}
		in.Contactor, in.EmergencyStop, in.Meter = Contactor{}, EmergencyStop{}, Meter{}
		mayStart, goal := false, unit.Volts(0)
		step := func(gap float64, disturb func()) Command {
			now += unit.Seconds(gap)
			in.Now, in.Event, in.Durable = now, NoEvent, was.Intent
			closed := now < 0.2 || now > 0.4
			in.Interlock = Interlock{OK: true, Closed: [2]bool{closed, closed}, At: now}
			in.Reading = Reading{OK: true, Volts: goal, Amperes: unit.Amperes(goal / 100), At: now}
			in.Held = Held{OK: true, Set: was.Set, Limit: was.Limit, Output: OutputOff, At: now}
			if was.On {
				in.Held.Output = OutputOn
			}
			disturb()
			return loop.Tick(&in)
		}
		look := func(out Command) {
			reached[out.State]++
			require.Equal(t, out.State.Energised(), out.On)
			lid := in.Interlock
			if out.On {
				require.False(t, lid.OK && !(lid.Closed[0] && lid.Closed[1]), "on with an open lid")
				require.NotContains(t, []Event{Stop, StopByEye}, in.Event, "on behind a stop")
				require.True(t, mayStart, "on without a start")
			}
			if was.On && !out.On {
				mayStart = false
			}
			if in.Event == Start && out.State == Checking {
				mayStart = true
			}
			was, goal = out, 0
			if out.On {
				goal = out.Set
			}
		}
		for range 15 {
			look(step(0.1, func() {}))
		}
		first := step(0.1, func() { in.Event = Start })
		look(first)
		for range rapid.IntRange(0, 300).Draw(t, "healthy ticks") {
			look(step(0.1, func() {}))
		}
		for range rapid.IntRange(1, 60).Draw(t, "ticks") {
			look(step(rapid.SampledFrom([]float64{0.1, 0.1, 0.001, 0, 0.5, 2}).Draw(t, "gap"), func() {
				in.Event = Event(rapid.SampledFrom([]int{0, 0, 0, 0, 0, 0, 1, 2, 3, 4, 5, 6, 7}).Draw(t, "event"))
				switch rapid.IntRange(0, 5).Draw(t, "what") {
				case 0:
					in.Reading.OK = false
				case 1:
					in.Reading.Volts, in.Reading.Amperes = unit.Volts(anyFloat.Draw(t, "volts")), unit.Amperes(anyFloat.Draw(t, "amperes"))
				case 2:
					in.Interlock.OK, in.Interlock.Closed = rapid.Bool().Draw(t, "lid"), [2]bool{rapid.Bool().Draw(t, "a"), rapid.Bool().Draw(t, "b")}
				}
			}))
		}
	})
	require.Positive(t, reached[Ramping], "no run came as far as a ramp: %v", reached)
}
