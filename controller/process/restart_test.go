package process

import (
	"testing"

	"anodized/controller/fault"
	"anodized/controller/plan"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// bystander is a bench on which anything may happen, but for a start.
type bystander struct {
	*chain
	lidUp, pressed, unplugged bool
	answered                  float64 // when the supply did so last
}

func (b *bystander) apply() {
	if b.lidUp {
		b.in.Interlock.Closed = [2]bool{}
	}
	if b.pressed {
		b.in.EmergencyStop.Closed, b.in.Contactor.Closed, b.closed = [2]bool{}, false, false
	}
	if b.unplugged {
		b.in.Reading.OK, b.in.Held.OK = false, false
	} else {
		b.answered = b.now
	}
}

// happenings are what may come in any order once a run has ended. None is a start.
var happenings = map[string]func(*bystander){
	"lid closes":     func(b *bystander) { b.lidUp = false },
	"lid opens":      func(b *bystander) { b.lidUp = true },
	"stop pressed":   func(b *bystander) { b.pressed = true },
	"stop released":  func(b *bystander) { b.pressed = false },
	"supply goes":    func(b *bystander) { b.unplugged = true },
	"supply returns": func(b *bystander) { b.unplugged = false },
	"acknowledged":   func(b *bystander) { b.in.Event = Acknowledge },
	"go on":          func(b *bystander) { b.in.Event = GoOn },
	"give up":        func(b *bystander) { b.in.Event = GiveUp },
	"stop asked":     func(b *bystander) { b.in.Event = Stop },
	"by eye":         func(b *bystander) { b.in.Event = StopByEye },
	"intent durable": func(b *bystander) { b.in.Durable = true },
	"new plan":       func(b *bystander) { b.loop.Load(low()) },
	"power returns":  powerReturns,
}

// powerReturns is a new process: it knows nothing of the run before.
func powerReturns(b *bystander) {
	b.loop = NewLoop(bench)
	b.out = Command{}
	b.loop.Load(low())
}

// low is a load to 10 V, in hold after 18 s.
func low() plan.Plan {
	p := load()
	p.TargetVolts, p.CeilingVolts = 10, 10.5
	p.Stages[0].TargetVolts = 10
	return p
}

var anyHappening = rapid.SampledFrom([]string{"lid closes", "lid opens", "stop pressed", "stop released", "supply goes", "supply returns", "acknowledged", "acknowledged", "acknowledged",
	"go on", "give up", "stop asked", "by eye", "intent durable", "new plan", "power returns"})

// endings cut a run short.
var endings = map[string]func(*bystander){
	"lid":      func(b *bystander) { b.lidUp = true },
	"stop":     func(b *bystander) { b.pressed = true },
	"supply":   func(b *bystander) { b.unplugged = true },
	"person":   func(b *bystander) { b.in.Event = Stop },
	"power":    powerReturns,
	"restart":  func(b *bystander) { b.in.Link = fault.SupplyRestarted },
	"good end": func(*bystander) {},
}

func ended(t *rapid.T) *bystander {
	b := &bystander{chain: newChain()}
	b.loop.Load(low())
	b.lidOpens, b.lidCloses = 0.2, 0.4
	for range 15 {
		b.tick()
	}
	b.in.Event = Start
	for range rapid.SampledFrom([]int{1, 8, 60, 100, 150, 200}).Draw(t, "ticks of the run") + rapid.IntRange(0, 20).Draw(t, "and") {
		b.tick() // small numbers are drawn more often than large ones
	}
	happen := endings[rapid.SampledFrom([]string{"lid", "stop", "supply", "person", "power", "restart", "good end"}).Draw(t, "ending")]
	b.twist = func(*chain) { happen(b); b.apply() }
	for range 2000 { // the longest: a good end, and a cell that is waited for
		b.tick()
		if b.out.State == Idle || b.out.State.Ended() {
			break
		}
	}
	require.False(t, b.out.On, "state %v", b.out.State)
	return b
}

// TestNothingButAStartEnergises: closing the lid, releasing the emergency stop,
// acknowledging, a supply that comes back, power that returns, in any order: none of
// them, and no series of them, leads to a pulse or to the output without a new start.
func TestNothingButAStartEnergises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := ended(t)
		for range rapid.IntRange(10, 30).Draw(t, "happenings") {
			happen := happenings[anyHappening.Draw(t, "what")]
			b.twist = func(*chain) { happen(b); b.apply() }
			for range rapid.IntRange(1, 12).Draw(t, "ticks") {
				b.tick()
				require.False(t, b.out.On || b.out.Close || b.out.Intent || b.out.Set > 0, "%v: on %v, pulses %v, set %v", b.out.State, b.out.On, b.out.Close, b.out.Set)
				require.NotEqual(t, Checking, b.out.State)
				b.twist = func(*chain) { b.apply() }
			}
		}
	})
}

// TestAcknowledgementClearsNothingWhoseCauseIsThere: whatever order things come in, a
// trip is cleared only by a person, with the lid closed after it was seen open since the
// run, the stop released, the supply answering and off.
func TestAcknowledgementClearsNothingWhoseCauseIsThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := ended(t)
		opened := b.lidUp
		for range rapid.IntRange(15, 40).Draw(t, "happenings") {
			what := anyHappening.Draw(t, "what")
			if what == "power returns" {
				continue // then there is no trip to clear
			}
			happen := happenings[what]
			b.twist = func(*chain) { happen(b); b.apply() }
			for range rapid.IntRange(1, 12).Draw(t, "ticks") {
				was := b.out.State
				b.tick()
				opened = opened || b.lidUp
				if was == Tripped && b.out.State == Idle {
					require.Equal(t, Acknowledge, b.given.Event, "cleared by nobody")
					require.True(t, opened, "the lid was not opened")
					require.False(t, b.lidUp || b.pressed || b.now-b.answered > 0.5+1e-9, "cleared while lid up %v, stop pressed %v, supply gone for %.1f s", b.lidUp, b.pressed, b.now-b.answered)
				}
				b.twist = func(*chain) { b.apply() }
			}
		}
	})
}
