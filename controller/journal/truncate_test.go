package journal

import (
	"context"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
)

func noDeadline() context.Context { return context.Background() }

// A copy of the journal whose log ends anywhere, as when the power went: what it
// holds did happen, in the order in which it happened.
func TestLogCutAnywhereClaimsNothingThatDidNotHappen(t *testing.T) {
	j, path := openSample(t)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	for second := range 40 {
		appendAll(j, sampleRows(10*second, 10))
		require.NoError(t, j.Flush(t.Context()))
	}
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	log, err := os.ReadFile(path + "-wal")
	require.NoError(t, err)

	random := rand.New(rand.NewPCG(1, 2))
	copied := filepath.Join(t.TempDir(), "journal.db")
	seen := map[record.Outcome]int{}
	for range rounds(t, *journalDamage) {
		cut := random.IntN(len(log) + 1)
		require.NoError(t, os.WriteFile(copied, file, 0o600))
		require.NoError(t, os.WriteFile(copied+"-wal", log[:cut], 0o600))
		seen[requireHistory(t, copied)]++
	}
	assert.Positive(t, seen[record.Interrupted])
	assert.Positive(t, seen[""], "cut before the intent")
}

// requireHistory returns how the one run ended; empty where there is none.
func requireHistory(t *testing.T, path string) record.Outcome {
	t.Helper()
	reader, err := OpenReadOnly(path)
	if errors.Is(err, ErrNoJournal) {
		return ""
	}
	require.NoError(t, err)
	defer func() { require.NoError(t, errors.Join(reader.Close(), removeLog(path))) }()
	run, err := reader.Run("last")
	if errors.Is(err, ErrNoRun) {
		return ""
	}
	require.NoError(t, err)
	require.Equal(t, sampleIntent(), run.Intent)
	require.Zero(t, len(run.Rows)%10, "whole batches")
	requireRows(t, sampleRows(0, len(run.Rows)), run.Rows)
	if run.Result.Outcome == record.Complete {
		require.Len(t, run.Rows, 400)
	}
	return run.Result.Outcome
}

func removeLog(path string) error {
	err := os.Remove(path + "-shm")
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	return err
}
