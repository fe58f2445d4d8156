package journal

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/film"
	"anodized/controller/plan"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/hal/unit"
)

// grown are the rows of a contact check and a ramp on so much of the declared area, by
// the growth law, ten a second.
func grown(p plan.Plan, share float64) (rows []record.Row) {
	law, x, volts := film.New(p.Law.I0, p.Law.B, p.Law.KF, 1), float64(p.Law.NativeFilm), 0.0
	for n := 1; volts < 36; n++ {
		state, rate := process.ContactCheck, 0.5
		if volts >= 8-1e-9 {
			state, rate = process.Ramping, 1.0
		}
		volts += rate / 10
		for range 50 {
			x += law.KF * float64(law.Density(unit.Volts(volts), unit.Nanometres(x))) / 1000 * 0.1 / 50
		}
		amperes := float64(law.Density(unit.Volts(volts), unit.Nanometres(x)).At(p.Area)) * share
		rows = append(rows, record.Row{T: unit.Seconds(n) / 10, Volts: unit.Volts(volts), Amperes: unit.Amperes(amperes),
			Set: unit.Volts(volts), Limit: 5, Bath: unit.Celsius(math.NaN()), State: uint8(state), Output: 2})
	}
	return rows
}

// load records a run of that rack.
func load(t *testing.T, j *Journal, share float64, alter func(*record.Intent, *record.Result)) {
	t.Helper()
	in, result := sampleIntent(), sampleResult()
	in.Plan = rackOfEight()
	alter(&in, &result)
	_, err := j.Begin(t.Context(), in)
	require.NoError(t, err)
	appendAll(j, grown(in.Plan, share))
	require.NoError(t, j.Finish(t.Context(), result))
}

func rackOfEight() plan.Plan {
	p := sampleIntent().Plan
	p.Parts, p.SmallestPart, p.Simulated = 8, p.Area/8, true
	p.ContactCheck = plan.ContactCheck{Volts: 8, Ramp: 0.5}
	p.Stages = []plan.Stage{{TargetVolts: 70, Ramp: 1, CurrentLimit: 5}}
	return p
}

// A rack whose declared area is too small warns of it each time, as a bath does whose leads
// are long: its loads are good ones all the same.
func TestWarningsThatSayNothingAgainstTheParts(t *testing.T) {
	j, _ := openSample(t)
	for n := range plan.LeastLoads {
		load(t, j, 1.25, func(_ *record.Intent, r *record.Result) {
			r.Findings = []fault.Finding{{Code: fault.AreaUnderstated, Severity: fault.Warning}}
			if n%2 == 0 {
				r.Findings = append(r.Findings, fault.Finding{Code: fault.BathResistanceHigh, Severity: fault.Warning})
			}
		})
	}
	got, err := j.History(rackOfEight())
	require.NoError(t, err)
	assert.Equal(t, plan.LeastLoads, got.Loads)
	assert.InDelta(t, 1.25, got.Ramp.Mean, 0.02)
}

func asItWas(*record.Intent, *record.Result) {}

func TestTheGoodLoadsOfARackAreItsHistory(t *testing.T) {
	j, path := openSample(t)
	reader, err := OpenReadOnly(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, reader.Close()) })
	for _, share := range []float64{0.97, 1.01, 0.99, 1.02} {
		load(t, j, share, asItWas)
	}
	load(t, j, 0.5, func(_ *record.Intent, r *record.Result) { r.Outcome = record.Stopped })
	load(t, j, 0.5, func(_ *record.Intent, r *record.Result) {
		r.Findings = []fault.Finding{{Code: fault.AreaOverstated, Severity: fault.Warning}}
	})
	load(t, j, 0.5, func(in *record.Intent, _ *record.Result) { in.Plan.Rack = "another rack" })
	load(t, j, 0.5, func(in *record.Intent, _ *record.Result) { in.Plan.Calibration.ID = "another ladder" })
	got, err := reader.History(rackOfEight())
	require.NoError(t, err)
	assert.Equal(t, plan.History{}, got, "four are too few, and no other counts")

	load(t, j, 1.01, asItWas)
	got, err = reader.History(rackOfEight())
	require.NoError(t, err)
	assert.Equal(t, 5, got.Loads)
	assert.InDelta(t, 1, got.Ramp.Mean, 0.03)
	assert.InDelta(t, 0.02, got.Ramp.SD, 0.004) // of 0.97, 1.01, 0.99, 1.02, 1.01, computed independently
	assert.InDelta(t, got.Ramp.SD, got.Check.SD, 0.006)
}
