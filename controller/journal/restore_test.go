package journal

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// backedUp is a journal with so many runs, closed, and a backup of it.
func backedUp(t *testing.T, runs int) (path, backup string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "journal.db")
	backup = filepath.Join(t.TempDir(), "backup.db")
	j, err := Open(path, Options{})
	require.NoError(t, err)
	for range runs {
		_, err := j.Begin(t.Context(), sampleIntent())
		require.NoError(t, err)
		appendAll(j, sampleRows(0, 50))
		require.NoError(t, j.Finish(t.Context(), sampleResult()))
	}
	require.NoError(t, j.Backup(t.Context(), backup))
	require.NoError(t, j.Close())
	return path, backup
}

func TestRestoreOnABlankCard(t *testing.T) {
	_, backup := backedUp(t, 3)
	path := filepath.Join(t.TempDir(), "state", "journal.db")
	done, err := Restore(t.Context(), path, backup, false)
	require.NoError(t, err)
	assert.Equal(t, Restored{Runs: 3}, done)
	j := reopen(t, path)
	found, err := j.Verify(t.Context())
	require.NoError(t, err)
	assert.Equal(t, Verification{Runs: 3, Verified: 3, Open: []string{}, Problems: []Problem{}}, found)
	name, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	assert.Equal(t, "4", name, "the next run goes on from there")
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
}

func TestRestoreKeepsTheJournalThatWasThere(t *testing.T) {
	path, _ := backedUp(t, 2)
	_, backup := backedUp(t, 1)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	_, err = Restore(t.Context(), path, backup, false)
	require.ErrorIs(t, err, ErrExists)
	same, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, before, same)

	done, err := Restore(t.Context(), path, backup, true)
	require.NoError(t, err)
	assert.Equal(t, 1, done.Runs)
	aside, err := os.ReadFile(done.Aside)
	require.NoError(t, err)
	assert.Equal(t, before, aside)
	list, err := reopen(t, path).Runs(Filter{})
	require.NoError(t, err)
	assert.Len(t, list, 1)
}

func TestRestoreRefusesWhatIsNotSound(t *testing.T) {
	path, backup := backedUp(t, 2)
	content, err := os.ReadFile(backup)
	require.NoError(t, err)
	require.Contains(t, string(content), "spacers")
	for name, bytes := range map[string]string{
		"changed":  strings.ReplaceAll(string(content), "spacers", "spacerz"), // some of it may stand in unused space
		"cut off":  string(content[:len(content)/2]),
		"no file":  "",
		"not ours": "no database at all",
	} {
		bad := filepath.Join(t.TempDir(), "bad.db")
		if name != "no file" {
			require.NoError(t, os.WriteFile(bad, []byte(bytes), 0o600))
		}
		_, err := Restore(t.Context(), path, bad, true)
		require.Error(t, err, name)
		list, err := OpenReadOnly(path)
		require.NoError(t, err, name)
		runs, err := list.Runs(Filter{})
		require.NoError(t, err, name)
		assert.Len(t, runs, 2, "%s: the journal stays as it was", name)
		require.NoError(t, list.Close())
	}
	_, err = Restore(t.Context(), path, path, true)
	require.ErrorContains(t, err, "the journal itself")
}

func TestRestoreWaitsForNoWriter(t *testing.T) {
	_, backup := backedUp(t, 1)
	j, path := openSample(t)
	_, err := Restore(t.Context(), path, backup, true)
	require.ErrorIs(t, err, ErrInUse)
	_, err = j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err, "and nothing was taken from it")
}
