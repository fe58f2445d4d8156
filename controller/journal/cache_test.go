package journal

import (
	"database/sql"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestConnectionsKeepFewPages: a process that keeps a record for hours must not grow by
// the pages that it has written.
func TestConnectionsKeepFewPages(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	j, err := Open(path, Options{})
	require.NoError(t, err)
	require.NoError(t, j.Close())
	for name, open := range map[string]func(string) (*sql.DB, error){"writer": openWriter, "reader": openReader} {
		db, err := open(path)
		require.NoError(t, err)
		var size int
		require.NoError(t, db.QueryRow("PRAGMA cache_size").Scan(&size), name)
		require.Equal(t, -cacheKiB, size, name)
		require.NoError(t, db.Close())
	}
}
