package review

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// tank is a bath by the growth law with an ideal supply, turned by the loop that
// turns the bench. Readings are taken a little before each step, as on a real link.
type tank struct {
	law     film.Law
	area    float64
	film    float64
	volts   float64
	amperes float64
	now     float64
	in      process.Input
	loop    *process.Loop
	out     process.Command
	run     record.Run
	before  func(*tank)
}

var limits = process.Config{VoltStep: 0.01, AmpereStep: 0.001, HighestVolts: 120, HighestAmperes: 5, Settle: 0.15, Tick: 0.1}

// load is eight parts on 200 cm² to 30 V at 1 V/s, 3 ohm in series.
func load() plan.Plan {
	end := plan.End{CurrentDensity: 0.3, Current: 0.060, Sustained: 2, LongestHold: 120}
	return plan.Plan{
		Area: 200, Parts: 8, LargestPart: 25, SmallestPart: 25, TargetVolts: 30, CeilingVolts: 30.7, CurrentLimit: 1, CurrentDensity: 5, Ramp: 1, End: end,
		ContactCheck: plan.ContactCheck{Volts: 8, Ramp: 0.5, NoContact: 0.017, LongestCheck: 60},
		Law:          plan.Law{I0: 6e-14, B: 4.5e-6, KF: 530.6107, Efficiency: 1, NativeFilm: 1.5, Series: 3},
		Stages:       []plan.Stage{{Name: "colour", TargetVolts: 30, Ramp: 1, CurrentLimit: 1, LongestRamp: 160, End: end}},
		Expected:     plan.Expected{RampSeconds: 38, HoldSeconds: 30},
		BathWindow:   plan.BathWindow{Law: 20, Least: 15, Most: 25},
	}
}

func newTank(p plan.Plan) *tank {
	k := &tank{law: film.New(p.Law.I0, p.Law.B, p.Law.KF, 1), area: 200, film: 1.5, loop: process.NewLoop(limits)}
	k.loop.Load(p)
	k.run.Intent = record.Intent{Plan: p, Simulated: true, TickSeconds: limits.Tick}
	return k
}

func (k *tank) current(film float64) float64 {
	return float64(k.law.Density(unit.Volts(film), unit.Nanometres(k.film)).At(unit.SquareCentimetres(k.area)))
}

func (k *tank) grow() {
	if !k.out.On {
		k.volts, k.amperes = k.volts*0.6, 0
		return
	}
	for range 10 {
		low, high := 0.0, float64(k.out.Set)
		for range 50 {
			middle := (low + high) / 2
			if i := k.current(middle); middle+3*i > float64(k.out.Set) || i > float64(k.out.Limit) {
				high = middle
			} else {
				low = middle
			}
		}
		k.amperes = k.current(low)
		k.volts = low + 3*k.amperes
		k.film += k.law.KF * k.amperes / k.area * 0.01
	}
}

// readingAge is how old a reading is when the step decides on it.
const readingAge = 0.013

func (k *tank) tick() {
	k.grow()
	k.now += 0.1
	k.in.Now = unit.Seconds(k.now)
	closed := k.now < 1 || k.now > 3
	k.in.Interlock = process.Interlock{OK: true, Closed: [2]bool{closed, closed}, At: k.in.Now}
	mode := process.ConstantVoltage
	if k.amperes >= 0.99*float64(k.out.Limit) && k.out.On {
		mode = process.ConstantCurrent
	}
	noise := math.Sin(k.now * k.now * 7919) // of a meter
	k.in.Reading = process.Reading{OK: true, Volts: unit.Volts(math.Round(k.volts*1000+3*noise) / 1000), Amperes: unit.Amperes(math.Round(k.amperes*1e4+2*noise) / 1e4),
		Mode: mode, At: k.in.Now - readingAge}
	output := process.OutputOff
	if k.out.On {
		output = process.OutputOn
	}
	k.in.Held = process.Held{OK: true, Set: k.out.Set, Limit: k.out.Limit, Output: output, At: k.in.Now}
	if k.before != nil {
		k.before(k)
	}
	before := k.out.State
	k.out = k.loop.Tick(&k.in)
	k.keep(before)
	k.in.Event, k.in.Durable = process.NoEvent, k.out.Intent
}

// keep records as the Station does: rows from the intent on, changes of state.
func (k *tank) keep(before process.State) {
	if k.out.Intent && !k.in.Durable {
		b := k.loop.Bench()
		k.run.Intent.Bench = record.Bench{Settle: b.Settle, VoltStep: b.VoltStep, AmpereStep: b.AmpereStep, Zero: b.Zero}
	}
	k.run.Rows = append(k.run.Rows, k.loop.Row())
	if k.out.State != before {
		k.run.Events = append(k.run.Events, record.Event{T: k.out.T, Kind: "state", Text: k.out.State.String()})
	}
}

// done runs a load to its end and closes its record.
func (k *tank) done(t *testing.T) record.Run {
	t.Helper()
	for k.now < 1 {
		k.tick()
	}
	k.in.Event = process.Start
	for range 6000 {
		if k.tick(); k.out.State.Ended() {
			break
		}
	}
	outcomes := map[process.State]record.Outcome{process.Complete: record.Complete, process.TimeRanOut: record.TimeRanOut,
		process.Stopped: record.Stopped, process.Tripped: record.Tripped}
	outcome, ended := outcomes[k.out.State]
	require.True(t, ended, "state %v, reasons %b, trip %q", k.out.State, k.out.Reasons, k.out.Trip)
	k.run.ID, k.run.Result = "412", record.Result{Run: "412", Outcome: outcome, Simulated: true, Findings: k.loop.Findings()}
	if k.out.Trip != "" {
		k.run.Result.Trip = &record.Trip{Code: k.out.Trip, Message: "cause", Action: "next"}
	}
	summary, _ := k.loop.Summary()
	k.run.Result.Fill(summary)
	return k.run
}
