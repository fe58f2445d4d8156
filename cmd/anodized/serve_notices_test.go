package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
)

func TestNoticesOfTheClockAndTheJournal(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	low := false
	n := newNotices(path, func() bool { return low })
	assert.Empty(t, n.last())

	n.now = func() time.Time { return time.Date(1970, 1, 1, 0, 5, 0, 0, time.UTC) }
	n.look()
	require.Len(t, n.last(), 1)
	assert.Contains(t, n.last()[0], "was not set")
	n.now = time.Now

	low = true
	n.look()
	require.Len(t, n.last(), 1)
	assert.Contains(t, n.last()[0], "under-voltage")
	low = false

	require.NoError(t, os.WriteFile(path, []byte("SQLite format 3, it was once"), 0o600))
	kept, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, kept.Close()) }()
	n.look()
	require.Len(t, n.last(), 1)
	assert.Contains(t, n.last()[0], "set aside: "+path+".damaged-")
	_, err = journal.Acknowledge(path, "Ida")
	require.NoError(t, err)
	n.look()
	assert.Empty(t, n.last())
}
