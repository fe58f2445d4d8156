package journal

import (
	"database/sql"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/replay"
	"anodized/controller/review"
	"anodized/hal/unit"
)

// closed is a run that was cut off, as the next writer closes it.
func closed(run record.Run) record.Result { return unfinished(run, false) }

// Ten seconds at 0.9 A on 100 cm²: 9 C, and by Faraday's law
// 530.6107 nm cm²/C x 9 C / 100 cm² = 47.755 nm, over what the readings find before.
func TestInterruptedRunKeepsItsLastState(t *testing.T) {
	rows := make([]record.Row, 101)
	for i := range rows {
		rows[i] = record.Row{T: unit.Seconds(i) / 10, Volts: unit.Volts(i) / 5, Amperes: 0.9, State: uint8(process.Ramping)}
	}
	rows = append(rows, record.Row{T: 10.1, Volts: unit.Volts(math.NaN()), Amperes: unit.Amperes(math.NaN()), State: uint8(process.Ramping)})
	in := sampleIntent()
	in.Plan.Area = 100
	result := closed(record.Run{ID: "3", Intent: in, Rows: rows})
	assert.Equal(t, record.Interrupted, result.Outcome)
	assert.InDelta(t, 9, *result.Charge, 1e-9)
	assert.InDelta(t, 47.754963, *result.ThicknessByCharge, 2)
	assert.InDelta(t, 20, *result.EndVolts, 1e-12)
	assert.InDelta(t, 9, *result.EndDensity, 1e-12)
	assert.InDelta(t, 10.1, *result.EnergisedSeconds, 1e-12, "the last tick was without a reading")
}

// The numbers in the list, those of the run and those of its review are one.
func TestInterruptedRunHasTheNumbersOfItsReview(t *testing.T) {
	run := record.Run{ID: "3", Intent: sampleIntent(), Rows: sampleRows(0, 300),
		Events: []record.Event{{T: 7, Kind: "finding", Finding: &fault.Finding{Code: "bath-drift", AtSeconds: 7, Severity: fault.Warning}}}}
	run.Result = closed(run)
	v := review.OfRun(run)
	require.True(t, v.Usable.OK, v.Usable.Why)
	assert.Empty(t, v.Differs)
	assert.Equal(t, run.Result.Findings, v.Findings)
	assert.True(t, replay.Has(v.Findings, "bath-drift"), "what the run told before it was cut off")
	assert.Equal(t, run.Result.Charge, v.Estimates.Charge)
	assert.Equal(t, run.Result.EndVolts, v.Estimates.EndVolts)
}

func TestRunningRunIsNotJudgedByItsEnd(t *testing.T) {
	run := record.Run{ID: "3", Intent: sampleIntent(), Rows: sampleRows(0, 300)}
	run.Result = unfinished(run, true)
	assert.Equal(t, Running, run.Result.Outcome)
	assert.False(t, replay.Has(run.Result.Findings, fault.UnderFormed), "it may still get there")
	assert.True(t, replay.Has(closed(run).Findings, fault.UnderFormed))
}

// Whatever a disk gave back, the journal opens: the result is written and read again.
func TestAnyRowsMakeAResult(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), 0, -1}))
		rows := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) record.Row {
			return record.Row{T: unit.Seconds(number.Draw(t, "t")), Volts: unit.Volts(number.Draw(t, "volts")), Amperes: unit.Amperes(number.Draw(t, "amperes")),
				Set: unit.Volts(number.Draw(t, "set")), Limit: unit.Amperes(number.Draw(t, "limit")), State: rapid.Byte().Draw(t, "state"),
				Mode: rapid.Byte().Draw(t, "mode"), Output: rapid.Byte().Draw(t, "output")}
		}), 0, 60).Draw(t, "rows")
		_, err := encodeResult(closed(record.Run{ID: "1", Intent: sampleIntent(), Rows: rows}), "1")
		require.NoError(t, err)
	})
}

func TestInterruptedRunWithAGapDoesNotClaimACharge(t *testing.T) {
	rows := append(sampleRows(0, 20), sampleRows(40, 20)...)
	result := closed(record.Run{Intent: sampleIntent(), Rows: rows})
	assert.Nil(t, result.Charge)
	assert.Nil(t, result.ThicknessByCharge)
	assert.NotNil(t, result.EndVolts)
	result = closed(record.Run{Intent: sampleIntent()})
	assert.Nil(t, result.EndVolts)
	assert.InDelta(t, 70, *result.TargetVolts, 0)
}

func TestNextWriterClosesAnInterruptedRun(t *testing.T) {
	j, path := openSample(t)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	rows := sampleRows(0, 50)
	appendAll(j, rows)
	require.NoError(t, j.Close())

	reader, err := OpenReadOnly(path)
	require.NoError(t, err)
	before, err := reader.Run("last")
	require.NoError(t, err)
	require.NoError(t, reader.Close())
	assert.Equal(t, record.Interrupted, before.Result.Outcome)

	j = reopen(t, path)
	assert.Equal(t, []string{"1"}, j.Status().Closed)
	after, err := j.Run("last")
	require.NoError(t, err)
	requireRows(t, rows, after.Rows)
	assert.Equal(t, before.Result, after.Result)
	found, err := j.Verify(t.Context())
	require.NoError(t, err)
	assert.Equal(t, Verification{Runs: 1, Verified: 1, Open: []string{}, Problems: []Problem{}}, found)
	require.NoError(t, j.Close())
	assert.Empty(t, reopen(t, path).Status().Closed)
}

func TestInterruptedRunThatCannotBeReadIsNamedAndLeftAlone(t *testing.T) {
	j, path := openSample(t)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	appendAll(j, sampleRows(0, 50))
	require.NoError(t, j.Close())
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.Exec("UPDATE sample SET batch = x'0102030405060708'")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	j = reopen(t, path)
	assert.Equal(t, []string{"1"}, j.Status().Unreadable)
	_, err = j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
}

func TestRunsListsTheNewestFirst(t *testing.T) {
	j, _ := openSample(t)
	for n := range 3 {
		in := sampleIntent()
		in.Profile.Name = []string{"bronze", "sky blue", "bronze"}[n]
		_, err := j.Begin(t.Context(), in)
		require.NoError(t, err)
		require.NoError(t, j.Finish(t.Context(), sampleResult()))
	}
	for name, test := range map[string]struct {
		filter Filter
		want   []string
	}{
		"all":     {Filter{}, []string{"3", "2", "1"}},
		"limit":   {Filter{Limit: 1}, []string{"3"}},
		"before":  {Filter{Before: 3}, []string{"2", "1"}},
		"profile": {Filter{Profile: "bronze"}, []string{"3", "1"}},
		"outcome": {Filter{Outcome: record.Tripped}, []string{}},
	} {
		list, err := j.Runs(test.filter)
		require.NoError(t, err)
		ids := []string{}
		for _, summary := range list {
			ids = append(ids, summary.ID)
			assert.True(t, summary.Simulated)
		}
		assert.Equal(t, test.want, ids, name)
	}
}
