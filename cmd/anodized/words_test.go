package main

import (
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// wild is what a terminal would obey, and a table would be torn by.
const wild = "Ida\x1b]0;gotcha\a\x1b[31m\u202e\u009b2J\nsecond\tline"

// wildJournal is a journal of an earlier version, which took all words.
func wildJournal(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "journal.db")
	kept, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	_, err = kept.Begin(t.Context(), record.Intent{StartedAt: time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC),
		Plan:    plan.Plan{ID: "0123abcd", Area: 222.5, Rack: wild, Profile: wild, Calibration: plan.Calibration{Film: "TiO2-anodic-200V", Substrate: "Ti-Johnson"}},
		Profile: profiles.Profile{Name: wild}, Rack: profiles.Rack{Name: wild}, Supply: wild, TickSeconds: 0.1, Operator: wild, Note: wild})
	require.NoError(t, err)
	for tick := range 40 {
		kept.Append(record.Row{T: unit.Seconds(tick) / 10, Volts: unit.Volts(tick) / 3, Amperes: 0.9, Set: unit.Volts(tick) / 3, Limit: 1.1, Bath: 21, State: 3, Output: 1})
	}
	kept.Note(record.Event{T: 1, Kind: "note", Text: wild})
	require.NoError(t, kept.Finish(t.Context(), record.Result{Outcome: record.Stopped, Reasons: []string{wild}, EndVolts: numberOf(13),
		Findings: []fault.Finding{{Code: "part-missing", Severity: fault.Warning, Evidence: []string{wild}, Action: "look at the rack"}}}))
	require.NoError(t, kept.Close())
	return path
}

func TestPrintersSpellOutWhatATerminalWouldObey(t *testing.T) {
	path := wildJournal(t)
	for _, args := range [][]string{{"runs"}, {"runs", "show", "1"}, {"runs", "compare", "1", "1"}, {"runs", "export", "1", "--csv"}, {"review", "1"}} {
		got := say("", append(args, "--journal", path)...)
		require.Equal(t, statusDone, got.status, got.errors)
		for _, line := range strings.Split(got.out+got.errors, "\n") {
			assert.False(t, strings.ContainsFunc(line, unicode.IsControl), "%v: %q", args, line)
			assert.NotContains(t, line, "\u202e", "%v", args)
			assert.False(t, strings.HasPrefix(line, "second"), "%v: it stays in its row: %q", args, line)
		}
	}
	assert.Contains(t, say("", "runs", "show", "1", "--journal", path).out, `Ida\x1b]0;gotcha\a\x1b[31m\u202e\u009b2J\nsecond\tline`)
}

func TestResultOfALoadSpellsOutItsReasons(t *testing.T) {
	var b strings.Builder
	require.NoError(t, printResult(&b, record.Result{Outcome: record.Stopped, Reasons: []string{wild}, Trip: &record.Trip{Message: wild}}))
	assert.NotContains(t, b.String(), "\x1b")
	assert.Contains(t, b.String(), `\x1b`)
}

func TestWordsThatATerminalWouldObeyAreRefused(t *testing.T) {
	for flag, args := range map[string][]string{
		"--operator": {"run", "--operator", wild}, "--note": {"run", "--note", "one\ntwo"}, "--who": {"acknowledge", "--who", wild},
		"--name": {"journal", "acknowledge", "--name", wild}, "--meter": {"bench", "--dummy-load", "100 ohm", "--meter", wild},
	} {
		got := say("", args...)
		assert.Equal(t, statusBadInput, got.status, flag)
		assert.Contains(t, got.errors, flag+": character 4 of it is ")
		assert.NotContains(t, got.errors, "\x1b")
		assert.Empty(t, got.out)
	}
}
