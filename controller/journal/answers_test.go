package journal

import (
	"path/filepath"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Who asks a disk that stalls is told after five seconds; one that answers makes nothing.
func TestDiskThatDoesNotAnswerIsToldInTime(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, Answers(filepath.Join(folder, "not", "there", "yet.db")))
	found, err := filepath.Glob(filepath.Join(folder, "*"))
	require.NoError(t, err)
	assert.Empty(t, found)
	synctest.Test(t, func(t *testing.T) {
		comesBack := make(chan struct{})
		err := answers("j.db", intentWithin, func(string) { <-comesBack })
		require.ErrorIs(t, err, ErrStalled)
		require.ErrorContains(t, err, "j.db: the journal's disk does not answer: it took longer than 5s for a write")
		close(comesBack)
	})
}
