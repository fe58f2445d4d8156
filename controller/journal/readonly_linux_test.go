package journal

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// TestRecordOnADiskThatBecameReadOnlyIsRead: a journal that was closed well has no log, and
// none could be made there.
func TestRecordOnADiskThatBecameReadOnlyIsRead(t *testing.T) {
	at := t.TempDir()
	if err := unix.Mount("tmpfs", at, "tmpfs", 0, ""); err != nil {
		t.Skipf("no disk can be mounted here: %v", err)
	}
	t.Cleanup(func() { assert.NoError(t, unix.Unmount(at, unix.MNT_DETACH)) })
	j, path := openSample(t)
	_, err := j.Begin(t.Context(), sampleIntent())
	require.NoError(t, err)
	appendAll(j, sampleRows(0, 300))
	require.NoError(t, j.Finish(t.Context(), sampleResult()))
	require.NoError(t, j.Close())
	copied := filepath.Join(at, "j.db")
	body, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(copied, body, 0o600))
	require.NoError(t, unix.Mount("", at, "", unix.MS_REMOUNT|unix.MS_RDONLY, ""))

	reader, err := OpenReadOnly(copied)
	require.NoError(t, err)
	run, err := reader.Run("last")
	require.NoError(t, err)
	require.NoError(t, reader.Close())
	requireRows(t, sampleRows(0, 300), run.Rows)
	_, err = Open(copied, Options{})
	assert.ErrorIs(t, err, unix.EROFS, "and nothing is written")
}
