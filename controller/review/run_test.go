package review

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/replay"
	"anodized/hal/unit"
)

func TestReviewGivesTheNumbersOfTheResult(t *testing.T) {
	run := newTank(load()).done(t)
	v := OfRun(run)
	require.Equal(t, record.Complete, run.Result.Outcome)
	require.True(t, v.Usable.OK, v.Usable.Why)
	assert.Empty(t, v.Differs)
	res, e := run.Result, v.Estimates
	for name, pair := range map[string][2]*float64{
		"live area": {res.LiveArea, e.LiveArea}, "series": {res.SeriesOhm, e.SeriesOhm}, "charge": {res.Charge, e.Charge},
		"by volts": {res.ThicknessByVolts, e.ThicknessByVolts}, "by charge": {res.ThicknessByCharge, e.ThicknessByCharge},
		"end density": {res.EndDensity, e.EndDensity}, "hold": {res.HoldSeconds, e.HoldSeconds}, "ramp": {res.RampSeconds, e.RampSeconds},
		"energised": {res.EnergisedSeconds, e.EnergisedSeconds}, "end volts": {res.EndVolts, e.EndVolts}, "end current": {res.EndCurrent, e.EndCurrent},
	} {
		require.NotNil(t, pair[0], name)
		require.NotNil(t, pair[1], name)
		assert.Equal(t, *pair[0], *pair[1], name) // the same to the last bit
	}
	assert.Equal(t, Clean, v.Verdict.Electrical)
	assert.Equal(t, "unknown", v.Verdict.Colour)
	assert.InEpsilon(t, 200, *e.LiveArea, 0.02)
	assert.True(t, v.Simulated)
}

func TestReviewFindsWhatTheRunFound(t *testing.T) {
	lost := newTank(load())
	lost.before = func(k *tank) {
		if k.out.State == process.Ramping && k.volts > 20 {
			k.area = 150
		}
	}
	starved := newTank(load())
	starved.run.Intent.Plan.Stages[0].End.LongestHold = 4
	starved.loop.Load(starved.run.Intent.Plan)
	for name, one := range map[string]struct {
		tank    *tank
		outcome record.Outcome
		code    fault.Code
	}{
		"two parts fall off":     {lost, record.Tripped, fault.ContactLost},
		"the hold is too short":  {starved, record.TimeRanOut, fault.EndNotReached},
		"stopped by a person":    {stopped(5), record.Stopped, fault.UnderFormed},
		"stopped in the hold":    {stopped(45), record.Stopped, fault.UnderFormed},
		"the supply goes silent": {silent(), record.Tripped, fault.SupplySilent},
	} {
		t.Run(name, func(t *testing.T) {
			run := one.tank.done(t)
			v := OfRun(run)
			require.Equal(t, one.outcome, run.Result.Outcome)
			require.True(t, replay.Has(v.Findings, one.code), "%v", v.Findings)
			for _, finding := range run.Result.Findings {
				assert.Contains(t, v.Findings, finding)
			}
			assert.Equal(t, Fault, v.Verdict.Electrical)
			assert.Empty(t, v.Differs)
		})
	}
}

// stopped is a load that a person stops after some seconds.
func stopped(after float64) *tank {
	k := newTank(load())
	k.before = func(k *tank) {
		if k.out.State.Energised() && float64(k.out.T) > after {
			k.in.Event = process.Stop
		}
	}
	return k
}

// silent is a load whose supply stops answering in the ramp.
func silent() *tank {
	k := newTank(load())
	k.before = func(k *tank) {
		if k.volts > 20 && k.out.On {
			k.in.Reading.OK, k.in.Held.OK = false, false
		}
	}
	return k
}

func TestShortCurveIsNotJudged(t *testing.T) {
	run := newTank(load()).done(t)
	run.Result.Trip = &record.Trip{Code: fault.InterlockOpen, Message: "the lid opened", Action: "close it"}
	run.Result.Outcome = record.Tripped
	for i, row := range run.Rows {
		if row.T > 3 {
			run.Rows = run.Rows[:i]
			break
		}
	}
	v := OfRun(run)
	assert.False(t, v.Usable.OK)
	assert.Equal(t, Unknown, v.Verdict.Electrical)
	assert.Equal(t, Estimates{}, v.Estimates)
	require.True(t, replay.Has(v.Findings, fault.InterlockOpen), "what was recorded stays")
}

func TestUnusableCurves(t *testing.T) {
	nan := math.NaN()
	cases := map[string]struct {
		change func(*record.Run)
		says   string
	}{
		"slow": {func(r *record.Run) {
			var kept []record.Row
			for i := 0; i < len(r.Rows); i += 8 {
				kept = append(kept, r.Rows[i])
			}
			r.Rows = kept
		}, "readings a second"},
		"holes": {func(r *record.Run) {
			for i := 200; i < 400; i++ {
				r.Rows[i].Volts, r.Rows[i].Amperes = unit.Volts(nan), unit.Amperes(nan)
			}
		}, "without readings"},
		"no area":        {func(r *record.Run) { r.Intent.Plan.Area = 0 }, "not declared"},
		"offset":         {func(r *record.Run) { addOffset(r.Rows, 0.04) }, "zero the meter"},
		"nothing at all": {func(r *record.Run) { r.Rows = nil }, "no reading with the output on"},
	}
	for name, one := range cases {
		t.Run(name, func(t *testing.T) {
			run := newTank(load()).done(t)
			one.change(&run)
			v := OfRun(run)
			assert.False(t, v.Usable.OK)
			assert.Equal(t, Unknown, v.Verdict.Electrical)
			require.NotEmpty(t, v.Usable.Why)
			assert.Contains(t, v.Usable.Why[0], one.says)
		})
	}
}

func addOffset(rows []record.Row, by unit.Amperes) {
	for i := range rows {
		rows[i].Amperes += by
	}
}

func TestReviewSaysWhereTheRecordDiffers(t *testing.T) {
	run := newTank(load()).done(t)
	*run.Result.Charge *= 1.5
	v := OfRun(run)
	require.Len(t, v.Differs, 1)
	assert.Contains(t, v.Differs[0], "charge_coulombs")
}

func TestJSONHasEveryField(t *testing.T) {
	text, err := json.Marshal(OfRun(newTank(load()).done(t)))
	require.NoError(t, err)
	var back map[string]any
	require.NoError(t, json.Unmarshal(text, &back))
	for _, name := range []string{"verdict", "estimates", "findings", "causes", "cannot_show", "simulated", "ended"} {
		assert.Contains(t, back, name)
	}
	assert.NotNil(t, back["findings"])
	assert.NotNil(t, back["causes"], "an empty list, not null")
	assert.Len(t, back["cannot_show"], 6)
}
