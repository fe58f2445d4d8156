package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// shopJournal is a journal of two loads of headset spacers: one that came out
// right, and one that was tripped.
func shopJournal(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "journal.db")
	kept, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	recordLoad(t, kept, record.Result{Outcome: record.Complete, Simulated: true, TargetVolts: numberOf(70), EndVolts: numberOf(69.98),
		Charge: numberOf(45.5), Findings: []fault.Finding{{Code: "part-missing", Severity: fault.Warning, AtSeconds: 12, Action: "look at the rack"}}})
	recordLoad(t, kept, record.Result{Outcome: record.Tripped, Simulated: true, TargetVolts: numberOf(70), EndVolts: numberOf(31.5),
		Trip: &record.Trip{Code: "interlock-open", Message: "the lid was opened", Action: "close the lid"}})
	require.NoError(t, kept.Close())
	return path
}

func recordLoad(t *testing.T, kept *journal.Journal, res record.Result) {
	t.Helper()
	_, err := kept.Begin(t.Context(), record.Intent{
		StartedAt: time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC), Plan: plan.Plan{ID: "0123abcd", Area: 222.5},
		Profile: profiles.Profile{Name: "second-order purple"}, Rack: profiles.Rack{Name: "eight headset spacers"},
		Metal: profiles.Metal{ID: "titanium-grade-5"}, Bath: profiles.Bath{ID: "bicarbonate"},
		Supply: "SIMULATED supply", Simulated: true, TickSeconds: 0.1, Operator: "Ada",
	})
	require.NoError(t, err)
	kept.Append(record.Row{}) // the last before the output goes on
	for tick := range 30 {
		volts := unit.Volts(tick) / 3
		if tick == 7 {
			volts = unit.Volts(math.NaN())
		}
		kept.Append(record.Row{T: unit.Seconds(tick) / 10, Volts: volts, Amperes: 0.9, Set: unit.Volts(tick) / 3, Limit: 1.1125, Bath: unit.Celsius(math.NaN())})
	}
	kept.Note(record.Event{T: 1.5, Kind: "state", Code: "ramping", Text: "volts follow the ramp"})
	require.NoError(t, kept.Finish(t.Context(), res))
}

func numberOf(v float64) *float64 { return &v }

func TestRunsListsTheNewestFirstAndMarksTheSimulated(t *testing.T) {
	t.Parallel()
	path := shopJournal(t)
	got := say("", "runs", "--journal", path, "--json").object(t)
	list := got["runs"].([]any)
	require.Len(t, list, 2)
	first := list[0].(map[string]any)
	assert.Equal(t, "2", first["run"])
	assert.Equal(t, "tripped", first["outcome"])
	assert.Equal(t, "interlock-open", first["trip"].(map[string]any)["code"])
	assert.Equal(t, true, first["simulated"])
	assert.Equal(t, []any{"part-missing"}, list[1].(map[string]any)["findings"])

	table := say("", "runs", "--journal", path)
	require.Equal(t, statusDone, table.status, table.errors)
	lines := strings.Split(strings.TrimSpace(table.out), "\n")
	require.Len(t, lines, 3)
	for _, line := range lines[1:] {
		assert.Contains(t, line, "SIMULATED")
	}
	assert.Contains(t, lines[1], "tripped: interlock-open")

	filtered := say("", "runs", "--journal", path, "--json", "--outcome", "complete", "--limit", "1").object(t)
	assert.Len(t, filtered["runs"], 1)
}

func TestRunsWithoutAJournalIsAnEmptyListAndAHint(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none", "journal.db")
	got := say("", "runs", "--journal", path, "--json")
	assert.Empty(t, got.object(t)["runs"])
	assert.Contains(t, got.out, `"runs":[]`)
	assert.Contains(t, got.errors, "no run is recorded yet")
	assert.NoDirExists(t, filepath.Dir(path))
}

func TestRunsThatListNothingSayWhy(t *testing.T) {
	t.Parallel()
	empty := filepath.Join(t.TempDir(), "journal.db")
	kept, err := journal.Open(empty, journal.Options{})
	require.NoError(t, err)
	require.NoError(t, kept.Close())
	got := say("", "runs", "--journal", empty)
	assert.Equal(t, statusDone, got.status)
	assert.Equal(t, "no run is recorded yet; anodized run does one, without --bench on the virtual bench\n", got.out)
	got = say("", "runs", "--journal", shopJournal(t), "--profile", "bronze")
	assert.Equal(t, statusDone, got.status)
	assert.Contains(t, got.out, "no run of the journal matches")
}

// A load that was never energised is found again, with its plan.
func TestRefusedRunIsInTheJournal(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	run := say("", "run", "--json", "--journal", path, "--fault", "interlock-stuck-closed@start")
	require.Equal(t, statusCannot, run.status, run.errors)
	lines := strings.Split(strings.TrimSpace(run.out), "\n")
	var result record.Result
	require.NoError(t, json.Unmarshal([]byte(lines[len(lines)-1]), &result))
	require.Equal(t, record.Refused, result.Outcome)
	require.Equal(t, "1", result.Run)

	list := say("", "runs", "--journal", path, "--outcome", "refused", "--json").object(t)["runs"].([]any)
	require.Len(t, list, 1)
	text := say("", "runs", "show", "1", "--journal", path)
	require.Equal(t, statusDone, text.status, text.errors)
	assert.Contains(t, text.out, result.Reasons[0])
	text = say("", "review", "last", "--journal", path)
	require.Equal(t, statusDone, text.status, text.errors)
	assert.Contains(t, text.out, "refused: never energised")
	again := say("", "plan", "--from", "last", "--journal", path, "--json").object(t)
	assert.Equal(t, "second-order purple", again["profile"])
}

func TestRunsShow(t *testing.T) {
	path := shopJournal(t)
	got := say("", "runs", "show", "1", "--journal", path, "--json").object(t)
	assert.Equal(t, "1", got["run"])
	assert.InDelta(t, 31, got["rows"], 0)
	assert.Equal(t, "second-order purple", got["intent"].(map[string]any)["profile"].(map[string]any)["name"])
	assert.Equal(t, "ramping", got["events"].([]any)[0].(map[string]any)["code"])
	assert.Equal(t, "complete", got["result"].(map[string]any)["outcome"])

	text := say("", "runs", "show", "last", "--journal", path)
	require.Equal(t, statusDone, text.status, text.errors)
	for _, want := range []string{"SIMULATED", "tripped: interlock-open", "the lid was opened", "close the lid", "31.50 V", "not known", "volts follow the ramp"} {
		assert.Contains(t, text.out, want)
	}
}

func TestRunsCompare(t *testing.T) {
	t.Parallel()
	path := shopJournal(t)
	got := say("", "runs", "compare", "1", "2", "--journal", path, "--json").object(t)
	volts := got["numbers"].(map[string]any)["end_volts"].(map[string]any)
	assert.InDelta(t, -38.48, volts["b_less_a"], 1e-9)
	assert.Nil(t, got["numbers"].(map[string]any)["charge_coulombs"].(map[string]any)["b_less_a"])
	assert.Equal(t, true, got["same_plan"])

	text := say("", "runs", "compare", "1", "2", "--journal", path)
	require.Equal(t, statusDone, text.status, text.errors)
	for _, want := range []string{"SIMULATED", "-38.48 V", "differs"} {
		assert.Contains(t, text.out, want)
	}
}

func TestExportedCurveIsACurveFile(t *testing.T) {
	path := shopJournal(t)
	got := say("", "runs", "export", "1", "--csv", "--journal", path)
	require.Equal(t, statusDone, got.status, got.errors)
	assert.Contains(t, got.errors, "SIMULATED")
	assert.Contains(t, got.errors, "2 of the 31 ticks of run 1 have no reading")
	curve, err := profiles.ReadCurve("run-1.csv", []byte(got.out))
	require.NoError(t, err)
	require.Len(t, curve.Volts, 29)
	assert.True(t, curve.Simulated)
	third := 3.0
	assert.Equal(t, 1/third, curve.Volts[1], "every bit")
	assert.InDelta(t, 0.9, curve.Amperes[0], 0, "of two rows at one moment the second stays")
	assert.True(t, math.IsNaN(curve.Bath[0]))

	var whole map[string]any
	require.NoError(t, json.Unmarshal([]byte(say("", "runs", "export", "1", "--json", "--journal", path).out), &whole))
	rows := whole["rows"].([]any)
	require.Len(t, rows, 31)
	assert.Nil(t, rows[8].(map[string]any)["volts"])
}

func TestRunsRefusesWhatIsNotThere(t *testing.T) {
	path := shopJournal(t)
	damaged := filepath.Join(t.TempDir(), "journal.db")
	require.NoError(t, os.WriteFile(damaged, []byte(strings.Repeat("no database ", 99)), 0o600))
	for message, test := range map[string]struct {
		status int
		args   []string
	}{
		"has runs 1 to 2":             {statusBadInput, []string{"runs", "show", "3", "--journal", path}},
		`no such run as "first"`:      {statusBadInput, []string{"runs", "compare", "1", "first", "--journal", path}},
		"there is no journal yet":     {statusBadInput, []string{"runs", "show", "1", "--journal", path + "x"}},
		"give either --csv or --json": {statusBadInput, []string{"runs", "export", "1", "--journal", path}},
		`--outcome "good": allowed`:   {statusBadInput, []string{"runs", "--outcome", "good", "--journal", path}},
		"--limit -1: 0 or more":       {statusBadInput, []string{"runs", "--limit", "-1", "--journal", path}},
		"the journal is damaged":      {statusCannot, []string{"runs", "--journal", damaged}},
	} {
		got := say("", test.args...)
		assert.Equal(t, test.status, got.status, message)
		assert.Contains(t, got.errors, message)
		assert.Empty(t, got.out)
	}
}

func TestJournalVerifyAndBackup(t *testing.T) {
	path := shopJournal(t)
	got := say("", "journal", "verify", "--journal", path, "--json").object(t)
	assert.InDelta(t, 2, got["verified"], 0)
	to := filepath.Join(t.TempDir(), "backup.db")
	backup := say("", "journal", "backup", to, "--journal", path)
	require.Equal(t, statusDone, backup.status, backup.errors)
	again := say("", "journal", "backup", to, "--journal", path)
	assert.Equal(t, statusBadInput, again.status)
	assert.Contains(t, again.errors, "exists already")
	text := say("", "journal", "verify", "--journal", to)
	require.Equal(t, statusDone, text.status, text.errors)
	assert.Contains(t, text.out, "problems             0")

	content, err := os.ReadFile(to)
	require.NoError(t, err)
	changed := strings.Replace(string(content), "eight headset spacers", "eight headset spacerz", 1)
	require.NoError(t, os.WriteFile(to, []byte(changed), 0o600))
	text = say("", "journal", "verify", "--journal", to)
	assert.Equal(t, statusNotRight, text.status)
	assert.Contains(t, text.out, "the hash differs")
}

func TestJournalPath(t *testing.T) {
	for name, test := range map[string]struct {
		flag, state, home, want string
	}{
		"flag":                {"my.db", "/state", "/home/ada", "my.db"},
		"state":               {"", "/state", "/home/ada", "/state/anodized/journal.db"},
		"home":                {"", "", "/home/ada", "/home/ada/.local/state/anodized/journal.db"},
		"relative is not set": {"", "state", "/home/ada", "/home/ada/.local/state/anodized/journal.db"},
	} {
		e := env{getenv: func(key string) string {
			return map[string]string{"XDG_STATE_HOME": test.state, "HOME": test.home}[key]
		}}
		got, err := journalPath(e, test.flag)
		require.NoError(t, err, name)
		assert.Equal(t, test.want, got, name)
	}
	_, err := journalPath(env{getenv: func(string) string { return "" }}, "")
	require.ErrorContains(t, err, "--journal PATH")
}
