package profiles

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden messages anew")

const badFolder = "../testdata/bad"

// badFiles lists the files with one mistake each.
func badFiles(t *testing.T) []string {
	t.Helper()
	entries, err := os.ReadDir(badFolder)
	require.NoError(t, err)
	var names []string
	for _, e := range entries {
		if e.Name() != "golden.txt" {
			names = append(names, e.Name())
		}
	}
	return names
}

// messages checks every bad file and gives what is said of it, a line each.
func messages(t *testing.T) string {
	t.Helper()
	var all strings.Builder
	for _, name := range badFiles(t) {
		content, err := os.ReadFile(filepath.Join(badFolder, name))
		require.NoError(t, err)
		kind, err := Check(name, content)
		var mistakes Mistakes
		require.Truef(t, errors.As(err, &mistakes), "%s (%s): %v", name, kind, err)
		assert.Lenf(t, mistakes, 1, "one mistake a file: %s: %v", name, err)
		all.WriteString(mistakes.Error() + "\n")
	}
	return all.String()
}

// Each bad file has its golden message, and no golden message lacks its file.
func TestBadFilesGetTheirGoldenMessages(t *testing.T) {
	require.GreaterOrEqual(t, len(badFiles(t)), 40)
	golden := filepath.Join(badFolder, "golden.txt")
	got := messages(t)
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}
