package journal

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestBackupIsTheWholeJournal(t *testing.T) {
	j, _ := openSample(t)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	appendAll(j, sampleRows(0, 100))
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	to := filepath.Join(t.TempDir(), "backup.db")
	require.NoError(t, j.Backup(t.Context(), to))
	require.ErrorIs(t, j.Backup(t.Context(), to), ErrExists)
	info, err := os.Stat(to)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())

	copied := reopen(t, to)
	assert.Empty(t, copied.Status().SetAside)
	found, err := copied.Verify(t.Context())
	require.NoError(t, err)
	assert.Equal(t, 1, found.Verified)
	run, err := copied.Run("1")
	require.NoError(t, err)
	requireRows(t, sampleRows(0, 100), run.Rows)
	name, err := copied.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	assert.Equal(t, "2", name)
}

func TestBackupThatFailsLeavesNothing(t *testing.T) {
	j, _ := openSample(t)
	require.NoError(t, j.Reader.Close())
	to := filepath.Join(t.TempDir(), "backup.db")
	require.Error(t, j.Backup(t.Context(), to))
	assert.NoFileExists(t, to)
	require.Error(t, j.Backup(t.Context(), filepath.Join(t.TempDir(), "nowhere", "backup.db")))
}
