package main

import (
	"encoding/json"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/hal/virtual"
)

func randomOf(n int, kind uint64) *rand.Rand {
	return rand.New(rand.NewPCG(*processSeed<<8|kind, uint64(n)))
}

// drained reads what a child says until its end, in the background; the channel is closed
// then, with the result in place.
func (c *child) drained() <-chan struct{} {
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		last := ""
		for c.lines.Scan() {
			last = c.lines.Text()
		}
		_ = c.command.Wait() // a child that was killed says so here
		if strings.Contains(last, `"event":"result"`) {
			_ = json.Unmarshal([]byte(last), &c.result) // cut off with its child it stays empty
		}
	}()
	return ended
}

// The controller is killed at any moment, one in three between the intent and the output:
// the cell is dead within a second and a half, no energised plant is without an intent,
// and the record reads, up to the last second, and says honestly what is known.
func TestProcessThatIsKilled(t *testing.T) {
	t.Parallel()
	sum := newFigures("kill")
	rounds(t, *processKills, func(t *testing.T, n int) {
		random := randomOf(n, 2)
		folder := t.TempDir()
		plant := stand(t, folder, nil)
		path := filepath.Join(folder, "j.db")
		run := plant.loadOn(folder, path)
		ended := run.drained()
		killWhen(plant, random, n, ended)
		before := plant.truth()
		killing := run.command.Process.Kill()
		if !errors.Is(killing, os.ErrProcessDone) {
			require.NoError(t, killing)
		}
		after, lastLive := plant.watched(deadWithin + 500*time.Millisecond)
		assert.LessOrEqual(t, lastLive, deadWithin, "an on that was on its way may still arrive; then nothing brings it back")
		require.False(t, after.Live)
		<-ended
		sum.value("seconds until dead", lastLive.Seconds())
		requireHonestRecord(t, path, before, after, sum)
	})
	sum.tell(t, *processKills)
	assert.Positive(t, sum.Counts["energised"]+sum.Counts["between intent and output"], "some of the moments must be behind the intent, or this shows nothing")
}

// watched looks at the plant for so long, and tells when the cell was last alive.
func (s *stood) watched(forSoLong time.Duration) (truth virtual.Truth, lastLive time.Duration) {
	began := time.Now()
	truth, _, _ = s.until(forSoLong, func(truth virtual.Truth) bool {
		if truth.Live {
			lastLive = time.Since(began)
		}
		return false
	})
	return truth, lastLive
}

// killWhen waits for the moment of a kill: between intent and output, in the energised
// part, or anywhere.
func killWhen(plant *stood, random *rand.Rand, n int, ended <-chan struct{}) {
	var met func(virtual.Truth) bool
	after := time.Duration(random.IntN(6000)) * time.Millisecond
	switch n % 3 {
	case 0: // the contactor closes behind the intent and before the output
		met, after = func(truth virtual.Truth) bool { return truth.ContactorClosed || truth.Powered }, time.Duration(random.IntN(60))*time.Millisecond
	case 1:
		met = isLive
	default:
		met = func(virtual.Truth) bool { return true }
	}
	_, _, _ = plant.until(60*time.Second, func(truth virtual.Truth) bool {
		select {
		case <-ended:
			return true
		default:
			return met(truth)
		}
	})
	moment := time.NewTimer(after)
	defer moment.Stop()
	select {
	case <-moment.C:
	case <-ended:
	}
}

func requireHonestRecord(t *testing.T, path string, before, after virtual.Truth, sum *figuresOf) {
	t.Helper()
	reader, err := journal.OpenReadOnly(path)
	if errors.Is(err, journal.ErrNoJournal) {
		require.False(t, after.Energised, "energised without a journal")
		sum.count("before the journal")
		return
	}
	require.NoError(t, err)
	run, err := reader.Run("last")
	require.NoError(t, reader.Close())
	if errors.Is(err, journal.ErrNoRun) {
		require.False(t, after.Energised, "energised without an intent")
		sum.count("before the intent")
		return
	}
	require.NoError(t, err)
	require.NotEmpty(t, run.Intent.Plan.ID)
	requireRowsThatHappened(t, run, before, after, sum)
	requireNextStart(t, path, run, sum)
}

// requireRowsThatHappened holds the rows against the seconds of the plant.
func requireRowsThatHappened(t *testing.T, run record.Run, before, after virtual.Truth, sum *figuresOf) {
	t.Helper()
	switch {
	case run.Result.Outcome != record.Interrupted:
		sum.count("ended before: " + endOf(run.Result.Outcome, run.Result.Trip))
		return
	case !after.Energised:
		sum.count("between intent and output")
		return
	}
	sum.count("energised")
	last := 0.0
	for _, row := range run.Rows {
		last = max(last, float64(row.T))
	}
	const apart = 0.35 // s: the output goes on within the tick from which the rows count
	assert.LessOrEqual(t, last, after.RunSeconds+apart, "rows of what did not happen")
	lost := max(0, before.RunSeconds-last)
	sum.value("seconds of rows lost", lost)
	assert.LessOrEqual(t, lost, 4.0, "a second, and what this machine stood still")
	if run.Result.HighestVolts != nil {
		sum.value("volts that the film was above the record", after.FilmVolts-*run.Result.HighestVolts)
	}
	require.Len(t, run.Result.Reasons, 2)
	assert.Contains(t, run.Result.Reasons[0], "nothing resumes")
}

// requireNextStart opens the journal as the next start does.
func requireNextStart(t *testing.T, path string, was record.Run, sum *figuresOf) {
	t.Helper()
	j, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	assert.Empty(t, j.Status().SetAside, "a cut journal is no damaged one")
	if was.Result.Outcome == record.Interrupted {
		assert.Equal(t, []string{was.ID}, j.Status().Closed)
	}
	found, err := j.Verify(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Problems)
	require.NoError(t, j.Close())
	sum.count("readable, and closed by the next start")
}
