package process

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"anodized/controller/fault"
	"anodized/hal/unit"
)

// hangs runs a resistor to its goal and holds it there, with meters of some step and
// noise of a ten-thousandth; alter changes a reading. It returns the trip.
func hangs(ohms, voltStep, ampereStep float64, alter func(now unit.Seconds, r *Reading)) fault.Code {
	k, loop := resistorTank(unit.Ohms(ohms))
	noise := rand.New(rand.NewPCG(1, 2))
	in, was := k.in, Command{}
	in.Contactor, in.EmergencyStop, in.Meter = Contactor{}, EmergencyStop{}, Meter{}
	for n := range 1200 {
		now := unit.Seconds(n) / 10
		in.Now, in.Event, in.Durable = now, NoEvent, was.Intent
		if n == 15 {
			in.Event = Start
		}
		closed := now < 0.2 || now > 0.4
		in.Interlock = Interlock{OK: true, Closed: [2]bool{closed, closed}, At: now}
		volts := 0.0
		if was.On {
			volts = float64(was.Set) * (1 + 1e-4*noise.NormFloat64())
		}
		in.Reading = Reading{OK: true, Volts: unit.Volts(math.Round(volts/voltStep) * voltStep), Amperes: inAmperes(volts/ohms, ampereStep), At: now}
		alter(now, &in.Reading)
		in.Held = Held{OK: true, Set: was.Set, Limit: was.Limit, Output: map[bool]Output{false: OutputOff, true: OutputOn}[was.On], At: now}
		was = loop.Tick(&in)
	}
	return was.Trip
}

func inAmperes(amperes, step float64) unit.Amperes {
	return unit.Amperes(math.Round(amperes/step) * step)
}

// TestCoarseMetersOfAResistorDoNotStandStill: neither in a ramp nor through a hold.
func TestCoarseMetersOfAResistorDoNotStandStill(t *testing.T) {
	for _, ohms := range []float64{80, 500, 2000} {
		for _, voltStep := range []float64{0.001, 0.01, 0.1, 0.2} {
			for _, ampereStep := range []float64{0.0001, 0.001, 0.01} {
				trip := hangs(ohms, voltStep, ampereStep, func(unit.Seconds, *Reading) {})
				assert.NotEqual(t, fault.ReadbackStuck, trip, "%v ohm, %v V, %v A", ohms, voltStep, ampereStep)
				if ohms == 80 {
					assert.Empty(t, trip, "it comes to its hold: %v V, %v A", voltStep, ampereStep)
				}
			}
		}
	}
}

// TestAResistorsReadingThatStandsStill: volts and amperes, together and alone.
func TestAResistorsReadingThatStandsStill(t *testing.T) {
	for name, frozen := range map[string][2]bool{"volts": {true, false}, "amperes": {false, true}, "both": {true, true}} {
		held := Reading{}
		trip := hangs(80, 0.01, 0.001, func(now unit.Seconds, r *Reading) {
			if now <= 30 {
				held = *r
				return
			}
			if frozen[0] {
				r.Volts = held.Volts
			}
			if frozen[1] {
				r.Amperes = held.Amperes
			}
		})
		assert.Equal(t, fault.ReadbackStuck, trip, name)
	}
}
