package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// No name without a bound comes into the record, by whichever command.
func TestNamesHaveABound(t *testing.T) {
	path, long := filepath.Join(t.TempDir(), "j.db"), strings.Repeat("Ida ", 16)
	for _, args := range [][]string{
		{"run", "--operator", long},
		{"runs", "read", "last", "--lab", "50, 0, 0", "--by", long},
		{"runs", "strip", "last", "--operator", long},
		{"runs", "adopt-area", "last", "--operator", long},
		{"ladder", "fit", "readings.csv", "--save", "--by", long},
		{"journal", "acknowledge", "--name", long},
	} {
		got := say("", append(args, "--journal", path)...)
		assert.Equal(t, statusBadInput, got.status, "%v", args)
		assert.Contains(t, got.errors, "characters, at most 60 are kept", "%v", args)
	}
	assert.Contains(t, say("", "acknowledge", "--who", long).errors, "a name of 64 characters")
}
