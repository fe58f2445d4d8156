package journal

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/process"
	"anodized/controller/record"
	"anodized/controller/replay"
)

// stoppedRun is a load that a person stopped on the page, cut off after these events.
func stoppedRun(output process.Output, events ...record.Event) record.Run {
	rows := sampleRows(0, 300)
	rows[len(rows)-1].Output = uint8(output)
	return record.Run{ID: "3", Intent: sampleIntent(), Rows: rows, Events: events}
}

var (
	asksEye  = record.Event{T: 29, Kind: "question", Code: record.GoodByEye}
	atRest   = record.Event{T: 30, Kind: "state", Text: process.Stopped.String()}
	saysYes  = record.Event{T: 33, Kind: "answer", Code: record.GoodByEye, Text: record.SeenGood}
	saysNo   = record.Event{T: 33, Kind: "answer", Code: record.GoodByEye, Text: "no"}
	ramping  = record.Event{T: 3, Kind: "state", Text: process.Ramping.String()}
	stopping = record.Event{T: 29, Kind: "state", Text: process.Discharging.String()}
)

// A load that was over, with its output off, was not interrupted by a power cut that came
// while it asked "good by eye?".
func TestALoadThatOnlyAskedWasStopped(t *testing.T) {
	for name, c := range map[string]struct {
		run     record.Run
		outcome record.Outcome
		byEye   bool
		output  string
		reasons []string
	}{
		"nobody said":              {stoppedRun(process.OutputOff, ramping, asksEye, stopping, atRest), record.Stopped, false, "off", []string{nobodySaid}},
		"somebody said yes":        {stoppedRun(process.OutputOff, ramping, asksEye, stopping, atRest, saysYes), record.Stopped, true, "off", []string{cutAfter}},
		"somebody said no":         {stoppedRun(process.OutputOff, ramping, asksEye, stopping, atRest, saysNo), record.Stopped, false, "off", []string{cutAfter}},
		"its last row was on":      {stoppedRun(process.OutputOn, ramping, asksEye, stopping, atRest), record.Stopped, false, "unknown", []string{nobodySaid}},
		"it was not at rest":       {stoppedRun(process.OutputOff, ramping, asksEye, stopping), record.Interrupted, false, "", nil},
		"yes before it was":        {stoppedRun(process.OutputOn, ramping, asksEye, saysYes, stopping), record.Interrupted, false, "", nil},
		"a stop that does not ask": {stoppedRun(process.OutputOff, ramping, stopping, atRest), record.Interrupted, false, "", nil},
	} {
		result := closed(c.run)
		assert.Equal(t, c.outcome, result.Outcome, name)
		assert.Equal(t, c.byEye, result.ByEye, name)
		assert.Equal(t, c.output, result.Output, name)
		if c.outcome == record.Stopped {
			assert.Equal(t, c.reasons, result.Reasons, name)
			assert.Equal(t, !c.byEye, replay.Has(result.Findings, fault.UnderFormed), name)
		}
	}
}

// The list has the volts of a run that nobody closed, as the run itself has them.
func TestTheListHasTheNumbersOfACutOffRun(t *testing.T) {
	j, path := openSample(t)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	appendAll(j, sampleRows(0, 300))
	require.NoError(t, j.Flush(t.Context()))
	copied := copyOf(t, path)
	reader, err := OpenReadOnly(copied)
	require.NoError(t, err)
	defer func() { require.NoError(t, reader.Close()) }()
	list, err := reader.Runs(Filter{})
	require.NoError(t, err)
	run, err := reader.Run("1")
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, Summarise(run), list[0])
	require.NotNil(t, list[0].EndVolts)
	assert.InDelta(t, 29.9, *list[0].EndVolts, 0.1)
}

// copyOf is the database and its log as a power cut leaves them.
func copyOf(t *testing.T, path string) string {
	t.Helper()
	copied := filepath.Join(t.TempDir(), "journal.db")
	for _, end := range []string{"", "-wal"} {
		content, err := os.ReadFile(path + end)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(copied+end, content, 0o600))
	}
	return copied
}
