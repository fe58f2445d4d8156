package profiles

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	thresholdsBegin = "<!-- threshold table: begin -->"
	thresholdsEnd   = "<!-- threshold table: end -->"
)

// thresholdTable is every detector with what a profile may say of it under watch, and what
// stays, as the manual shows it.
func thresholdTable() string {
	b := &strings.Builder{}
	b.WriteString(thresholdsBegin + "\n\n| Detector | Key | Default | From | To | Why | Why no further |\n|---|---|---|---|---|---|---|\n")
	for _, d := range Detectors() {
		for _, key := range d.Keys {
			t := thresholdOf(key)
			fmt.Fprintf(b, "| `%s` | `%s` | %s | %s | %s | %s | %s |\n", d.Code, t.Key, withUnit(t.Default, t.Unit), withUnit(t.Least, t.Unit), withUnit(t.Most, t.Unit), t.Why, t.Further)
		}
		if d.Fixed != "" {
			fmt.Fprintf(b, "| `%s` | fixed | | | | %s | |\n", d.Code, d.Fixed)
		}
	}
	b.WriteString("\n" + thresholdsEnd + "\n")
	return b.String()
}

// thresholdOf is the threshold of a key; without a key where there is none.
func thresholdOf(key string) Threshold {
	for _, t := range Thresholds() {
		if t.Key == key {
			return t
		}
	}
	return Threshold{}
}

// TestEachDetectorSaysWhatMayBeMoved: by keys that there are, or why not; and each key is one's.
func TestEachDetectorSaysWhatMayBeMoved(t *testing.T) {
	used, codes := map[string]bool{}, map[string]bool{}
	for _, d := range Detectors() {
		assert.False(t, codes[d.Code], d.Code)
		codes[d.Code] = true
		assert.True(t, len(d.Keys) > 0 || d.Fixed != "", d.Code)
		for _, key := range d.Keys {
			assert.Equal(t, key, thresholdOf(key).Key, d.Code)
			used[key] = true
		}
	}
	for _, threshold := range Thresholds() {
		assert.True(t, used[threshold.Key], threshold.Key)
	}
}

// TestTheManualListsEveryThreshold: what the shop may move is in the manual, from the code.
func TestTheManualListsEveryThreshold(t *testing.T) {
	const manual = "../SAFETY.md"
	content, err := os.ReadFile(manual)
	require.NoError(t, err)
	before, rest, begins := strings.Cut(string(content), thresholdsBegin)
	_, after, ends := strings.Cut(rest, thresholdsEnd+"\n")
	require.True(t, begins && ends, "SAFETY.md wants the lines %s and %s, in this order", thresholdsBegin, thresholdsEnd)
	want := before + thresholdTable() + after
	if *update {
		require.NoError(t, os.WriteFile(manual, []byte(want), 0o600))
		return
	}
	assert.Equal(t, want, string(content), "SAFETY.md is out of date: run go test ./profiles -run Threshold -update")
}
