package campaign

import (
	"errors"
	"math"
	"testing"
	"time"

	"anodized/controller"
	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal"
	"anodized/hal/unit"
	"anodized/hal/virtual"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ran is a load that came to its end, with all that judges it and nothing against it.
func ran(t *testing.T, c Case) *runner {
	t.Helper()
	r, err := prepare(t.Context(), c)
	require.NoError(t, err)
	require.NoError(t, r.run())
	require.Empty(t, r.report.Violations, "before anything is spoilt")
	return r
}

// sound is a load in good order whose bench has a contactor, and whose rows are kept.
func sound() Case {
	c := Healthy(2, Surface(), Spread{OwnCalibration: true})
	c.Replayed = true
	return c
}

// moment is the plant some seconds after the load, as it may be: nothing is on.
func (r *runner) moment(after float64) virtual.Truth {
	t := r.bench.Truth()
	t.Seconds += after
	t.Volts, t.CellVolts, t.Amperes, t.HeldAmperes = 0, 0, 0, 0
	return t
}

// lit is a moment with power.
func (r *runner) lit(after float64) virtual.Truth {
	t := r.moment(after)
	t.Output, t.Powered, t.Live = true, true, true
	t.CellVolts, t.Amperes, t.HeldAmperes = 10, 0.001, float64(r.report.Plan.CurrentLimit)
	return t
}

// see shows a moment to who judges it.
func (r *runner) see(t virtual.Truth) { r.audit.see(&t) }

// TestEachJudgeSees puts one lie into the evidence of a load that was in good order, and
// wants just the invariant that it breaks.
func TestEachJudgeSees(t *testing.T) {
	lies := []struct {
		name      string
		invariant string
		spoil     func(r *runner)
	}{
		{"on behind an open lid", lidEnds, func(r *runner) {
			open := r.moment(1)
			open.LidOpen = true
			r.see(open)
			r.audit.starts = 1
			_ = r.wire.Energise(t.Context()) // what the supply says to it is not judged
		}},
		{"no off on the wire after the lid", lidEnds, func(r *runner) {
			r.audit.saidOn = true
			for _, after := range []float64{1, 2} {
				open := r.moment(after)
				open.LidOpen = true
				r.see(open)
			}
		}},
		{"power through the contactor after the lid", lidEnds, func(r *runner) {
			for _, after := range []float64{1, 2} {
				open := r.lit(after)
				open.LidOpen = true
				r.see(open)
			}
		}},
		{"a setpoint above the ceiling", voltsBelow, func(r *runner) {
			_, _ = r.wire.SetVoltage(t.Context(), r.report.Plan.CeilingVolts+0.1)
		}},
		{"a cell above the ceiling", voltsBelow, func(r *runner) {
			high := r.lit(1)
			high.CellVolts = float64(r.report.Plan.CeilingVolts) + 0.51
			r.see(high)
		}},
		{"readings above the ceiling and no off", voltsBelow, func(r *runner) {
			r.audit.saidOn = true
			for range 3 {
				r.audit.measured(hal.Sample{Volts: r.report.Plan.CeilingVolts + 1}, nil)
			}
		}},
		{"a limit above the plan", limitBelow, func(r *runner) {
			_, _ = r.wire.SetCurrent(t.Context(), r.report.Plan.CurrentLimit*1.01)
		}},
		{"a supply that holds more than planned", limitBelow, func(r *runner) {
			held := r.lit(1)
			held.HeldAmperes *= 1.2
			r.see(held)
		}},
		{"a current above its limit", currentBelow, func(r *runner) {
			much := r.lit(1)
			much.Amperes = much.HeldAmperes*1.02 + 0.011
			r.see(much)
		}},
		{"on before the intent row", intentFirst, func(r *runner) {
			r.audit.durable, r.audit.starts = false, 1
			_ = r.wire.Energise(t.Context())
		}},
		{"power before the intent row", intentFirst, func(r *runner) {
			r.audit.durable = false
			r.see(r.lit(1))
		}},
		{"energised seconds that never were", secondsAgree, func(r *runner) { *r.report.Result.EnergisedSeconds += 1.1 }},
		{"a second without a row", secondsAgree, func(r *runner) { r.report.Kept.Gap = 1.1 }},
		{"rows that end early", secondsAgree, func(r *runner) { r.report.Kept.Last -= 1.2 }},
		{"the end of a run without an off", offInTime, func(r *runner) {
			r.audit.saidOn = true
			r.audit.shown(&controller.Snapshot{Tick: 1, State: "tripped", Supply: controller.SupplyView{Volts: controller.Unknown(), Amperes: controller.Unknown()}})
		}},
		{"another word before the first off", offFirst, func(r *runner) {
			r.audit.offed = false
			_, _ = r.wire.SetVoltage(t.Context(), 1)
		}},
		{"on without a start", offFirst, func(r *runner) { _ = r.wire.Energise(t.Context()) }},
		{"a trip that nobody knows", closedSet, func(r *runner) { r.report.Result.Trip = &record.Trip{Code: "burnt"} }},
		{"a cause that nothing gave", firstCause, func(r *runner) {
			r.report.Result.Outcome, r.report.Result.Trip = record.Tripped, &record.Trip{Code: fault.Breakdown}
		}},
		{"complete below the target", goodEnd, func(r *runner) { *r.report.Result.EndVolts -= 0.5 }},
		{"complete with a current that still flows", goodEnd, func(r *runner) {
			r.report.AtEnd.Amperes = 2*float64(r.report.Plan.End.Current) + 1
		}},
		{"a setpoint that is no number", finite, func(r *runner) {
			_, _ = r.wire.SetVoltage(t.Context(), unit.Volts(math.NaN()))
		}},
		{"a result that is infinite", finite, func(r *runner) { *r.report.Result.Charge = math.Inf(1) }},
		{"a device's word for no reading in the result", finite, func(r *runner) { *r.report.Result.SeriesOhm = 9.91e37 }},
		{"a row with a command that is no number", finite, func(r *runner) {
			r.report.Kept.take(record.Row{T: 1, Set: unit.Volts(math.NaN())}, false)
		}},
		{"a row with a device's word for no reading", finite, func(r *runner) {
			r.report.Kept.take(record.Row{T: 1, Amperes: -9.9e37}, false)
		}},
		{"off of which nothing was told", unknownIsUnknown, func(r *runner) {
			r.audit.told = saysNothing
			r.audit.shown(&controller.Snapshot{Tick: 1, State: "idle", Supply: controller.SupplyView{Output: "off", Volts: controller.Unknown(), Amperes: controller.Unknown()}})
		}},
		{"volts that were not read", unknownIsUnknown, func(r *runner) {
			r.audit.shown(&controller.Snapshot{Tick: 1, State: "idle", Supply: controller.SupplyView{Volts: 12.3, Amperes: controller.Unknown()}})
		}},
		{"volts without an age", unknownIsUnknown, func(r *runner) {
			r.audit.measured(hal.Sample{Volts: 12.3}, nil)
			r.audit.shown(&controller.Snapshot{Tick: 1, State: "idle", Supply: controller.SupplyView{Volts: 12.3, AgeMS: controller.Unknown()}})
		}},
		{"a panic", nothingLeft, func(r *runner) { _ = guarded(r.report, func() error { panic("as the test has it") }) }},
		{"a fault that the bench does not know", comesToEnd, func(r *runner) { r.pace.inject(virtual.Fault{ID: "nonsense"}) }},
		{"a reading of the record that was another", replays, func(r *runner) {
			rows := r.report.Kept.Run.Rows
			rows[len(rows)/2].Amperes *= 1 + 1e-9
		}},
		{"a finding that the record alone has", replays, func(r *runner) {
			r.report.Result.Findings = nil // a rack without a history has contact-not-proven
		}},
		{"another result by the same seed", sameAgain, func(r *runner) {
			*r.report.Result.EndVolts = math.Nextafter(*r.report.Result.EndVolts, 0)
		}},
	}
	spoilt := map[string]bool{}
	for _, c := range lies {
		spoilt[c.invariant] = true
		t.Run(c.name, func(t *testing.T) {
			r := ran(t, sound())
			c.spoil(r)
			if c.invariant == sameAgain {
				r.report.again(t.Context(), r.report.Case)
			}
			r.judge(c.invariant)
			require.NotEmpty(t, r.report.Violations)
			for _, more := range r.report.Violations[1:] {
				assert.Equal(t, replays, more.Invariant, "a result that was changed is not what its rows give")
			}
			assert.Equal(t, c.invariant, r.report.Violations[0].Invariant)
			shownIn(t, r.report.Violations[0])
		})
	}
	for _, invariant := range Invariants() {
		assert.True(t, spoilt[invariant], "nobody knows whether this is seen: %s", invariant)
	}
	r := ran(t, sound())
	r.judge("")
	assert.Empty(t, r.report.Violations, "the same load without a lie")
}

// judge looks at the end of the run again.
func (r *runner) judge(invariant string) {
	first := r.report.Violations
	r.audit.end(r.station.Snapshot())
	if invariant != sameAgain { // whose lie is in the numbers that a replay gives, too
		r.report.Judge()
	}
	if len(first) > 0 {
		r.report.Violations = first // what follows from the lie by the way is not asked for here
	}
}

// shownIn wants a violation in the report, and the campaign to fail by it.
func shownIn(t *testing.T, v Violation) {
	t.Helper()
	entries := []entry{{seed: v.Seed, block: InOrder, violations: []Violation{v}}}
	out := fold(entries, Options{Runs: 1, Seed: v.Seed}, 1, time.Second, Process{})
	assert.False(t, out.Right())
	assert.Equal(t, []Violation{v}, out.Violations)
	for _, j := range out.Invariants {
		assert.Equal(t, j.Invariant == v.Invariant, j.Violations == 1, j.Invariant)
	}
	assert.Contains(t, Markdown(out), v.Invariant+": ")
}

// TestJudgesSeeWhatIsNoLineOfARun spoils what no line of a whole run shows.
func TestJudgesSeeWhatIsNoLineOfARun(t *testing.T) {
	t.Run("a part lost in a complete load", func(t *testing.T) {
		in, err := injectionOf("contact-lost")
		require.NoError(t, err)
		r := ran(t, OneFault(1, *in, Surface()))
		p := &r.report.Plan
		r.report.Result.Outcome, r.report.Result.Trip, r.report.Result.Findings = record.Complete, nil, nil
		*r.report.Result.EndVolts = float64(p.TargetVolts)
		r.report.Onset, r.report.OnsetState, r.report.OnsetVolts, r.report.OnsetHeld = 30, "ramping", 0.6*float64(p.TargetVolts), -1
		r.report.Case.Injection = &Injection{ID: "contact-lost", Code: fault.ContactLost}
		r.report.AtEnd.Amperes, r.report.AtEnd.Film = 0, []float64{100, 60}
		r.report.complete()
		require.Len(t, r.report.Violations, 1)
		assert.Equal(t, goodEnd, r.report.Violations[0].Invariant)
	})
	t.Run("a load without an end", func(t *testing.T) {
		out := fold([]entry{{seed: 7, err: errLost}}, Options{Runs: 1, Seed: 7}, 1, time.Second, Process{})
		require.Len(t, out.Violations, 1)
		assert.Equal(t, comesToEnd, out.Violations[0].Invariant)
	})
	t.Run("goroutines of earlier runs", func(t *testing.T) {
		f := newFlat(1)
		f.process.GoroutinesBefore = -1000
		var e entry
		f.look(0, &e)
		require.Len(t, e.violations, 1)
		assert.Equal(t, nothingLeft, e.violations[0].Invariant)
	})
	t.Run("memory that grows", func(t *testing.T) {
		grown := Process{HeapEarly: 10, HeapLate: 60}
		assert.NotEmpty(t, grown.left(10_000), "5 KiB a run")
		assert.Empty(t, grown.left(100_000))
		assert.NotEmpty(t, Process{GoroutinesBefore: 4, GoroutinesAfter: 5}.left(10))
		out := fold([]entry{{seed: 9}}, Options{Runs: 1, Seed: 9}, 1, time.Second, Process{GoroutinesAfter: 1})
		require.Len(t, out.Violations, 1)
		assert.Equal(t, nothingLeft, out.Violations[0].Invariant)
	})
	t.Run("a process that takes an unknown event under power", func(t *testing.T) {
		r := &Report{Case: sound()}
		b := &bare{report: r, in: process.Input{Event: process.Acknowledge + 1}, last: process.Command{State: process.Holding, On: true}}
		b.causes(true)
		require.Len(t, r.Violations, 1)
		assert.Equal(t, nothingLeft, r.Violations[0].Invariant)
	})
	t.Run("a run that fails", func(t *testing.T) {
		r := &runner{report: &Report{Case: sound()}}
		assert.Error(t, r.ended(errors.New("the station gave up")))
	})
}
