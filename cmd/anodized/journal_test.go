package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/profiles"
)

func TestJournalRestore(t *testing.T) {
	t.Parallel()
	path, folder := shopJournal(t), t.TempDir()
	backup, blank := filepath.Join(folder, "backup.db"), filepath.Join(folder, "new", "journal.db")
	require.Equal(t, statusDone, say("", "journal", "backup", backup, "--journal", path).status)
	got := say("", "journal", "restore", backup, "--journal", blank)
	require.Equal(t, statusDone, got.status, got.errors)
	assert.Contains(t, got.out, "2 runs restored to "+blank)
	assert.Equal(t, say("", "runs", "--json", "--journal", path).out, say("", "runs", "--json", "--journal", blank).out)

	again := say("", "journal", "restore", backup, "--journal", blank)
	assert.Equal(t, statusBadInput, again.status)
	assert.Contains(t, again.errors, "--force sets it aside")
	forced := say("", "journal", "restore", backup, "--journal", blank, "--force", "--json").object(t)
	assert.InDelta(t, 2, forced["runs"], 0)
	assert.FileExists(t, forced["set_aside"].(string))

	content, err := os.ReadFile(backup)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(backup, bytes.ReplaceAll(content, []byte("spacers"), []byte("spacerz")), 0o600))
	spoilt := say("", "journal", "restore", backup, "--journal", blank, "--force")
	assert.Equal(t, statusNotRight, spoilt.status)
	assert.Contains(t, spoilt.errors, "the hash differs")
	none := say("", "journal", "restore", filepath.Join(folder, "none.db"), "--journal", blank, "--force")
	assert.Equal(t, statusBadInput, none.status)
}

func TestJournalExport(t *testing.T) {
	path, folder := shopJournal(t), filepath.Join(t.TempDir(), "runs")
	got := say("", "journal", "export", folder, "--journal", path)
	require.Equal(t, statusDone, got.status, got.errors)
	assert.Contains(t, got.out, "2 runs and 2 curves written to "+folder)
	lines, err := os.ReadFile(filepath.Join(folder, "runs.jsonl"))
	require.NoError(t, err)
	objects := strings.Split(strings.TrimSpace(string(lines)), "\n")
	require.Len(t, objects, 2)
	for n, object := range objects {
		var run map[string]any
		require.NoError(t, json.Unmarshal([]byte(object), &run))
		assert.Equal(t, []string{"1", "2"}[n], run["run"])
		assert.Equal(t, true, run["simulated"])
		assert.Len(t, run["rows"], 31)
	}
	curve, err := os.ReadFile(filepath.Join(folder, "run-2.csv"))
	require.NoError(t, err)
	assert.Equal(t, say("", "runs", "export", "2", "--csv", "--journal", path).out, string(curve))
	_, err = profiles.ReadCurve("run-2.csv", curve)
	require.NoError(t, err)

	for _, none := range []string{"calibrations.jsonl", "readings.jsonl", "areas.jsonl", "strips.jsonl"} {
		assert.NoFileExists(t, filepath.Join(folder, none))
	}

	again := say("", "journal", "export", folder, "--journal", path)
	assert.Equal(t, statusBadInput, again.status)
	assert.Contains(t, again.errors, "is not empty")
}

func TestJournalExportsWhatStandsBesideTheRuns(t *testing.T) {
	path, folder := shopJournal(t), filepath.Join(t.TempDir(), "all")
	j, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	ladder, err := profiles.OpenCalibration("../../testdata/good/calibration-of-a-ladder.yaml", nil)
	require.NoError(t, err)
	require.NoError(t, j.SaveCalibration(record.KeptCalibration{By: "Ida", Calibration: ladder}))
	lab := [3]float64{50, 59, -48}
	require.NoError(t, j.SaveReadings("last", record.KeptReading{By: "Ida", Reading: profiles.ColourReading{Part: "seat clamp", Lab: &lab}}))
	require.NoError(t, j.Close())
	got := say("", "journal", "export", folder, "--journal", path)
	require.Equal(t, statusDone, got.status, got.errors)
	assert.Contains(t, got.out, "and 1 calibrations, 1 colour readings, 0 adopted areas")
	text, err := os.ReadFile(filepath.Join(folder, "calibrations.jsonl"))
	require.NoError(t, err)
	var kept record.KeptCalibration
	require.NoError(t, json.Unmarshal(text, &kept))
	assert.Equal(t, ladder, kept.Calibration)
	text, err = os.ReadFile(filepath.Join(folder, "readings.jsonl"))
	require.NoError(t, err)
	assert.Contains(t, string(text), "seat clamp")
	assert.Contains(t, string(text), `"simulated":true`)
	found := say("", "journal", "verify", "--journal", path, "--json").object(t)
	assert.Equal(t, map[string]any{"calibrations": 1.0, "readings": 1.0, "adopted_areas": 0.0, "strips": 0.0}, found["kept"])
}

func TestCellOfMinusZeroIsZero(t *testing.T) {
	assert.Equal(t, "0", cell(math.Copysign(0, -1)))
	assert.Equal(t, "-0.5", cell(-0.5))
	assert.Empty(t, cell(math.NaN()))
}
