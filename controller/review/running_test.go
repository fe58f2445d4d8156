package review

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
	"anodized/controller/replay"
)

// A clean curve so far is no clean run: its end is still to come.
func TestRunThatGoesOnHasNoVerdict(t *testing.T) {
	run := newTank(load()).done(t)
	run.Rows = run.Rows[:len(run.Rows)/2]
	run.Result = record.Result{Outcome: "running"}
	v := OfRun(run)
	require.True(t, v.Usable.OK, v.Usable.Why)
	assert.Equal(t, Unknown, v.Verdict.Electrical)
	assert.Contains(t, v.Ended.Why, "still running")
	assert.False(t, replay.Has(v.Findings, fault.UnderFormed), "it may still get there")
	assert.NotNil(t, v.Estimates.EndVolts, "its numbers so far")
	assert.Empty(t, v.Differs)
}

func TestRefusedRunSaysThatItNeverWas(t *testing.T) {
	v := OfRun(record.Run{Result: record.Result{Outcome: record.Refused, Reasons: []string{"the lid is open: close it"}}})
	assert.Equal(t, "never energised: the lid is open: close it", v.Ended.Why)
	assert.Contains(t, v.Usable.Why, "no reading with the output on")
	assert.Equal(t, Unknown, v.Verdict.Electrical)
}
