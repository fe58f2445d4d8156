package process

import (
	"math"
	"testing"

	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"

	"github.com/stretchr/testify/require"
)

// tank is a plain bath for these tests: one film by the growth law behind one
// series resistance, an ideal supply, an ideal meter, a lid and a person who lifts
// it once. The virtual bench has the real one.
type tank struct {
	law          film.Law
	area, series float64
	film         float64 // nm
	leak         float64 // ohm across the terminals
	across       float64 // V, over the film
	volts        float64
	amperes      float64
	now          float64
	in           Input
	loop         *Loop
	out          Command
	rows         []record.Row
	stuckOn      bool
	lidOpens     float64
	lidCloses    float64
	before       func(*tank) // changes the input just before a tick
	silent       bool
	given        Input // of the last tick
}

var bench = Config{VoltStep: 0.01, AmpereStep: 0.001, HighestVolts: 120, HighestAmperes: 5, Settle: 0.15, Tick: 0.1}

// load is the reference rack: 200 cm², 1 V/s to 70 V, 5 mA/cm², 3 ohm.
func load() plan.Plan {
	end := plan.End{CurrentDensity: 0.15, Current: 0.030, Sustained: 5, LongestHold: 180}
	return plan.Plan{
		Area: 200, Parts: 8, LargestPart: 25, SmallestPart: 25, TargetVolts: 70, CeilingVolts: 70.7, CurrentLimit: 1, CurrentDensity: 5, Ramp: 1, End: end,
		ContactCheck: plan.ContactCheck{Volts: 8, Ramp: 0.5, NoContact: 0.017, LongestCheck: 60},
		Law:          plan.Law{I0: 6e-14, B: 4.5e-6, KF: 530.6107, Efficiency: 1, NativeFilm: 1.5, Series: 3},
		Stages:       []plan.Stage{{Name: "colour", TargetVolts: 70, Ramp: 1, CurrentLimit: 1, LongestRamp: 160, End: end}},
		Expected:     plan.Expected{RampSeconds: 78, HoldSeconds: 80},
		BathWindow:   plan.BathWindow{Law: 20, Least: 15, Most: 25},
	}
}

func newTank(p plan.Plan) *tank {
	k := &tank{law: film.New(p.Law.I0, p.Law.B, p.Law.KF, 1), area: float64(p.Area), series: 3, film: 1.5, leak: math.Inf(1),
		loop: NewLoop(bench), lidOpens: 1, lidCloses: 3}
	k.loop.Load(p)
	return k
}

// flow is the current at a film voltage, A.
func (k *tank) flow(film float64) float64 {
	return float64(k.law.Density(unit.Volts(film), unit.Nanometres(k.film)).At(unit.SquareCentimetres(k.area)))
}

// excess is how far a film voltage would be above the supply's voltage or current; it
// rises with it.
func (k *tank) excess(film float64) float64 {
	i := k.flow(film)
	v := film + k.series*i
	return max(v-float64(k.out.Set), i+v/k.leak-float64(k.out.Limit))
}

// solve finds the film voltage at which the supply's voltage or current is reached.
func (k *tank) solve() {
	k.across = rootNear(k.across, float64(k.out.Set), k.excess)
	i := k.flow(k.across)
	k.volts = k.across + k.series*i
	k.amperes = i + k.volts/k.leak
	k.film += k.law.KF * i / k.area * 0.005
}

// rootNear is where a rising function passes zero between 0 and most, looked for from
// where it last did: by the chord, with half the weight for an end that stays (Illinois).
func rootNear(last, most float64, f func(float64) float64) float64 {
	last = min(last, most)
	low, high := last, last
	for width := 0.01; ; width *= 8 {
		low, high = max(last-width, 0), min(last+width, most)
		if (low == 0 || f(low) <= 0) && (high == most || f(high) >= 0) {
			break
		}
	}
	atLow, atHigh := f(low), f(high)
	if atLow >= 0 {
		return low
	}
	if atHigh <= 0 {
		return high
	}
	for before := 0.0; ; {
		middle := (low*atHigh - high*atLow) / (atHigh - atLow)
		at := f(middle)
		if math.Abs(at) < 1e-10 || high-low < 1e-11 {
			return middle
		}
		if at > 0 {
			high, atHigh = middle, at
			if before > 0 {
				atLow /= 2
			}
		} else {
			low, atLow = middle, at
			if before < 0 {
				atHigh /= 2
			}
		}
		before = at
	}
}

func (k *tank) grow(dt float64) {
	if !k.out.On && !k.stuckOn {
		k.volts, k.amperes = k.volts*math.Exp(-dt/0.2), 0
		return
	}
	for range int(dt/0.005 + 0.5) {
		k.solve()
	}
}

// tick moves the bath by 0.1 s and lets the loop decide.
func (k *tank) tick() Command { return k.tickAfter(0.1) }

func (k *tank) tickAfter(dt float64) Command {
	k.grow(dt)
	k.now += dt
	k.in.Now = unit.Seconds(k.now)
	open := k.now >= k.lidOpens && k.now < k.lidCloses
	k.in.Interlock = Interlock{OK: true, Closed: [2]bool{!open, !open}, At: k.in.Now}
	k.in.Reading = Reading{OK: !k.silent, Volts: rounded(k.volts), Amperes: unit.Amperes(rounded(k.amperes)), Mode: k.mode(), At: k.in.Now}
	k.in.Held = Held{}
	if math.Mod(k.now+0.05, 1) < dt {
		k.in.Held = Held{OK: !k.silent, Set: rounded(float64(k.out.Set)), Limit: k.out.Limit, Output: k.output(), At: k.in.Now}
	}
	if k.before != nil {
		k.before(k)
	}
	k.given = k.in
	k.out = k.loop.Tick(&k.in)
	k.rows = append(k.rows, k.loop.Row())
	k.in.Event = NoEvent
	k.in.Durable = k.out.Intent
	return k.out
}

func rounded(v float64) unit.Volts { return unit.Volts(math.Floor(v*1000) / 1000) }

func (k *tank) output() Output {
	if k.out.On || k.stuckOn {
		return OutputOn
	}
	return OutputOff
}

func (k *tank) mode() Mode {
	switch {
	case !k.out.On:
		return ModeOff
	case k.amperes >= 0.99*float64(k.out.Limit):
		return ConstantCurrent
	}
	return ConstantVoltage
}

// start asks for a run and ticks until a state is reached.
func (k *tank) start(t *testing.T, until State) {
	t.Helper()
	for k.now < 1 { // two seconds of zero readings before anyone asks
		k.tick()
	}
	k.in.Event = Start
	k.until(t, until)
}

func (k *tank) until(t *testing.T, state State) {
	t.Helper()
	for range 12000 {
		if k.out.State == state {
			return
		}
		k.tick()
	}
	require.Equal(t, state, k.out.State, "trip %q reasons %b", k.out.Trip, k.out.Reasons)
}

// untilEnd ticks until the run has ended.
func (k *tank) untilEnd(t *testing.T) Command {
	t.Helper()
	for range 12000 {
		if k.out.State.Ended() {
			return k.out
		}
		k.tick()
	}
	require.Fail(t, "the run did not end", "state %v", k.out.State)
	return k.out
}
