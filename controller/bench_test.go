package controller

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/virtual"
)

// spacers is eight headset spacers to 70 V at 1 V/s: 200 cm², 5 mA/cm².
func spacers() plan.Plan {
	end := plan.End{CurrentDensity: 0.15, Current: 0.030, Sustained: 5, LongestHold: 180}
	return plan.Plan{ID: "spacers", Profile: "purple", Rack: "eight headset spacers",
		Area: 200, Parts: 8, LargestPart: 25, SmallestPart: 25, TargetVolts: 70, CeilingVolts: 70.7, CurrentLimit: 1,
		CurrentDensity: 5, Ramp: 1, End: end,
		ContactCheck: plan.ContactCheck{Volts: 8, Ramp: 0.5, NoContact: 0.017, LongestCheck: 60},
		Law:          plan.Law{I0: 6e-14, B: 4.5e-6, KF: 530.6107, Efficiency: 1, NativeFilm: 1.5, Series: 3},
		Stages:       []plan.Stage{{Name: "colour", TargetVolts: 70, Ramp: 1, CurrentLimit: 1, LongestRamp: 160, End: end}},
		Expected:     plan.Expected{RampSeconds: 78, HoldSeconds: 80},
		BathWindow:   plan.BathWindow{Law: 20, Least: 15, Most: 25},
	}
}

// straw is a load of a few seconds.
func straw() plan.Plan {
	p := spacers()
	p.TargetVolts, p.CeilingVolts, p.Ramp = 10, 10.5, 5
	p.End.CurrentDensity, p.End.Current, p.End.Sustained = 0.5, 0.1, 1
	p.ContactCheck.Volts, p.ContactCheck.Ramp = 6, 2
	p.Stages = []plan.Stage{{Name: "colour", TargetVolts: 10, Ramp: 5, CurrentLimit: 1, LongestRamp: 60, End: p.End}}
	return p
}

// hung is a virtual bench with the rack of spacers and a Station on it.
func hung(tb testing.TB, seed uint64, faults ...virtual.Fault) (*Station, *virtual.Bench, *shelf) {
	tb.Helper()
	setup := virtual.Setup{Seed: seed, Faults: faults}
	for range 8 {
		setup.Parts = append(setup.Parts, virtual.Part{Area: 25})
	}
	bench, err := virtual.New(setup)
	require.NoError(tb, err)
	kept := &shelf{}
	s := New(Devices{Supply: bench.Supply(), Interlock: bench.Interlock(), Thermometer: bench.Thermometer(), Simulated: true},
		bench, kept, quiet(), Options{ClockWaits: true})
	return s, bench, kept
}

// through runs one load to its result.
func through(tb testing.TB, s *Station, p plan.Plan) record.Result {
	tb.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	events, leave := s.Subscribe(10000)
	defer leave()
	require.NoError(tb, s.Start(Request{Plan: p}))
	done := make(chan error, 1)
	go func() { done <- s.Run(ctx) }()
	for ev := range events {
		if ev.Kind == KindResult {
			cancel()
			require.NoError(tb, <-done)
			return *ev.Result
		}
	}
	tb.Fatal("the station ended without a result")
	return record.Result{}
}

func TestWholeLoadOnTheVirtualBench(t *testing.T) {
	s, bench, kept := hung(t, 1)
	res := through(t, s, spacers())
	require.Equal(t, record.Complete, res.Outcome, "%+v", res)
	truth := bench.Truth()
	assert.False(t, truth.Powered)
	assert.InDelta(t, 70, *res.EndVolts, 0.2)
	assert.InDelta(t, 0.15, *res.EndDensity, 0.15*0.05)
	assert.InDelta(t, truth.Charge, *res.Charge, 0.02*truth.Charge)
	require.Len(t, kept.results, 1)
	assert.Greater(t, len(kept.rows), 1000)
	text, err := json.Marshal(s.Snapshot())
	require.NoError(t, err, "no NaN reaches JSON")
	assert.Contains(t, string(text), `"proven":false`, "without a contactor nothing is proven")
}

func TestSameSeedSameSamples(t *testing.T) {
	stream := func(seed uint64) string {
		s, _, kept := hung(t, seed)
		through(t, s, straw())
		return fmt.Sprintf("%v", kept.rows)
	}
	first := stream(7)
	assert.Equal(t, first, stream(7))
	assert.NotEqual(t, first, stream(8))
}

func TestPartThatLosesContactTrips(t *testing.T) {
	s, bench, kept := hung(t, 3, virtual.Fault{ID: "contact-lost", At: virtual.AtVolts(35)})
	res := through(t, s, spacers())
	assert.Equal(t, record.Tripped, res.Outcome)
	require.NotNil(t, res.Trip)
	assert.Equal(t, fault.ContactLost, res.Trip.Code)
	assert.NotEmpty(t, res.Trip.Action)
	assert.False(t, bench.Truth().Powered)
	assert.Equal(t, res.Trip, kept.results[0].Trip)
}

// A run of any length stays in the same memory: nothing but the snapshot is made
// in a tick.
func TestTickOfARunMakesOnlyItsSnapshot(t *testing.T) {
	s, bench, _ := hung(t, 5)
	require.NoError(t, s.Start(Request{Plan: spacers()}))
	go s.scribe.run()
	ctx := t.Context()
	next := func() {
		at, err := bench.Next(ctx)
		require.NoError(t, err)
		s.tick(ctx, at)
	}
	for s.Snapshot().State != "ramping" {
		next()
	}
	made := testing.AllocsPerRun(200, func() {
		s.owner.progressedAt = s.owner.input.Now // the word a second is counted elsewhere
		next()
	})
	assert.LessOrEqual(t, made, 2.0)
	s.abandon()
	require.NoError(t, s.scribe.close(s.options.RecordWait))
}
