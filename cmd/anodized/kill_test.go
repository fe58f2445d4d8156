package main

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/controller/record"
)

// kills is how often the program is killed; ANODIZED_KILLS asks for more.
func kills(t *testing.T) int {
	t.Helper()
	asked := os.Getenv("ANODIZED_KILLS")
	if asked == "" {
		return 8
	}
	n, err := strconv.Atoi(asked)
	require.NoError(t, err)
	return n
}

// A program that is killed at any moment leaves a journal that reads, and never an
// energised second without the intent of its run.
func TestKilledAtRandomMoments(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(3, 4))
	energised, cut := 0, 0
	for range kills(t) {
		path := filepath.Join(t.TempDir(), "j.db")
		run := start(t, "run", "--json", "--speed", "200", "--journal", path)
		on := run.killedAfter(random.IntN(180))
		reader, err := journal.OpenReadOnly(path)
		if errors.Is(err, journal.ErrNoJournal) {
			require.False(t, on, "energised without a journal")
			continue
		}
		require.NoError(t, err)
		kept, err := reader.Run("1")
		if errors.Is(err, journal.ErrNoRun) {
			require.False(t, on, "energised without an intent")
		} else {
			require.NoError(t, err)
			cut++
			assert.Contains(t, []record.Outcome{record.Interrupted, record.Complete}, kept.Result.Outcome)
			assert.NotEmpty(t, kept.Intent.Plan.ID)
		}
		if on {
			energised++
		}
		require.NoError(t, reader.Close())
		reopened(t, path)
	}
	assert.Positive(t, energised, "some of the moments must be in the energised part, or this shows nothing")
	assert.GreaterOrEqual(t, cut, energised)
}

// killedAfter kills the child after so many events, some of which it may have
// overtaken by then, and tells whether it had said that the output is on.
func (c *child) killedAfter(events int) (on bool) {
	c.t.Helper()
	for n := 0; c.lines.Scan(); n++ {
		on = on || strings.Contains(c.lines.Text(), `"state":"contact-check"`)
		if n != events {
			continue
		}
		if err := c.command.Process.Kill(); !errors.Is(err, os.ErrProcessDone) {
			require.NoError(c.t, err)
		}
	}
	var ended interface{ ExitCode() int }
	if err := c.command.Wait(); err != nil {
		require.ErrorAs(c.t, err, &ended)
	}
	return on
}

// reopened opens a journal to write, as the next run would, and closes it.
func reopened(t *testing.T, path string) {
	t.Helper()
	again, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	assert.Empty(t, again.Status().SetAside, "a cut journal is no damaged one")
	require.NoError(t, again.Close())
}
