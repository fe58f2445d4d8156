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

// thresholdTable is what a profile may say under watch, as the manual shows it.
func thresholdTable() string {
	b := &strings.Builder{}
	b.WriteString(thresholdsBegin + "\n\n| Key | Default | From | To | Why |\n|---|---|---|---|---|\n")
	for _, t := range Thresholds() {
		fmt.Fprintf(b, "| `%s` | %s | %s | %s | %s |\n", t.Key, withUnit(t.Default, t.Unit), withUnit(t.Least, t.Unit), withUnit(t.Most, t.Unit), t.Why)
	}
	b.WriteString("\n" + thresholdsEnd + "\n")
	return b.String()
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
