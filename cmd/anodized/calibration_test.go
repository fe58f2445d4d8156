package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/profiles"
)

// shopLadder is a ladder of the shop, made so many days ago, SIMULATED or not.
func shopLadder(id string, days int, simulated bool) profiles.Calibration {
	return profiles.Calibration{ID: id, Metal: profiles.DefaultMetal, Bath: "bicarbonate", Film: "TiO2-Siefke", Substrate: "Ti-Mash",
		IndexScale: 0.98, NMPerVolt: 2.1, Offset: 1, NMPerVoltSD: 0.004, OffsetSD: 0.2, Correlation: -0.84, EndCurrentDensity: 0.15,
		Softness: 24.6, SoftnessSD: 0.3, Temperature: 20, Date: time.Now().AddDate(0, 0, -days).Format(time.DateOnly),
		FromVolts: 10, ToVolts: 95, RMSDE00: 0.6, Readings: 8, Simulated: simulated, Provenance: "ladder of the shop"}
}

func shelfOf(t *testing.T, all ...profiles.Calibration) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "journal.db")
	j, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	for _, one := range all {
		require.NoError(t, j.SaveCalibration(record.KeptCalibration{By: "Ida", Calibration: one}))
	}
	require.NoError(t, j.Close())
	return path
}

func TestPlanTakesTheCalibrationOfTheShop(t *testing.T) {
	t.Parallel()
	path := shelfOf(t, shopLadder("ladder-old", 90, true), shopLadder("ladder-new", 3, true))
	made := say("", "plan", "--journal", path, "--json").object(t)
	calibration, choice, expected := made["calibration"].(map[string]any), made["calibration_choice"].(map[string]any), made["expected"].(map[string]any)
	assert.Equal(t, "ladder-new", calibration["id"])
	assert.Equal(t, "key", choice["by"])
	assert.Contains(t, choice["why"], "the best of 2 for titanium-grade-5 in bicarbonate")
	assert.InDelta(t, 1+2.1*70, expected["thickness_nm"], 1e-6)
	assert.Less(t, expected["thickness_nm_sd"], 0.3)
	sheet := say("", "plan", "--journal", path)
	assert.Contains(t, sheet.out, "ladder-new")
	assert.Contains(t, sheet.out, "SIMULATED")
	assert.Contains(t, sheet.out, "the best of 2")

	named := say("", "plan", "--journal", path, "--calibration", "ladder-old", "--json").object(t)
	assert.Equal(t, "ladder-old", named["calibration"].(map[string]any)["id"])
	assert.Contains(t, named["calibration_choice"].(map[string]any)["why"], "from the journal "+path)
	assert.Contains(t, warningCodes(named), "calibration-stale")
	embedded := say("", "plan", "--journal", path, "--calibration", "titanium-grade-5-book", "--json").object(t)
	assert.Equal(t, "named, embedded", embedded["calibration_choice"].(map[string]any)["why"])
	unknown := say("", "plan", "--journal", path, "--calibration", "ladder-gone")
	assert.Equal(t, statusBadInput, unknown.status)
	assert.Contains(t, unknown.errors, "the journal keeps: ladder-new, ladder-old")
}

func TestPlanWithoutAJournalTakesTheBook(t *testing.T) {
	none := filepath.Join(t.TempDir(), "none.db")
	made := say("", "plan", "--journal", none, "--json").object(t)
	assert.Equal(t, "titanium-grade-5-book", made["calibration"].(map[string]any)["id"])
	assert.Equal(t, map[string]any{"by": "book", "why": "no calibration of the shop is for titanium-grade-5 in bicarbonate"}, made["calibration_choice"])
	assert.NoFileExists(t, none)
	require.NoError(t, os.WriteFile(none, []byte("no database, for certain, and long enough to be looked at as one"), 0o600))
	damaged := say("", "plan", "--journal", none, "--json").object(t)
	assert.Contains(t, damaged["calibration_choice"].(map[string]any)["why"], "the journal is damaged")
}

// Nothing simulated ever feeds a plan for a real bench, asked for or not.
func TestASimulatedCalibrationServesNoRealBench(t *testing.T) {
	t.Parallel()
	path := shelfOf(t, shopLadder("ladder-simulated", 3, true))
	bench := []string{"plan", "--journal", path, "--bench", "../../testdata/good/bench.yaml", "--json"}
	made := say("", bench...).object(t)
	assert.Equal(t, "titanium-grade-5-book", made["calibration"].(map[string]any)["id"])
	named := say("", append(bench, "--calibration", "ladder-simulated")...)
	assert.Equal(t, statusBadInput, named.status)
	assert.Contains(t, named.errors, "SIMULATED")
	real := shelfOf(t, shopLadder("ladder-real", 3, false))
	made = say("", "plan", "--journal", real, "--bench", "../../testdata/good/bench.yaml", "--json").object(t)
	assert.Equal(t, "ladder-real", made["calibration"].(map[string]any)["id"])
}

func TestColourByACalibrationOfTheJournal(t *testing.T) {
	path := shelfOf(t, shopLadder("ladder", 3, true))
	e := env{stdin: strings.NewReader(""), getenv: func(name string) string {
		if name == "XDG_STATE_HOME" {
			return filepath.Dir(filepath.Dir(path))
		}
		return ""
	}}
	folder := filepath.Join(filepath.Dir(filepath.Dir(path)), "anodized")
	require.NoError(t, os.MkdirAll(folder, 0o700))
	require.NoError(t, os.Rename(path, filepath.Join(folder, "journal.db")))
	one, err := keptOrFile(e, "", "ladder")
	require.NoError(t, err)
	assert.Equal(t, shopLadder("ladder", 3, true), one)
	book, err := keptOrFile(e, "", "titanium-grade-5-book")
	require.NoError(t, err)
	assert.True(t, book.Book)
}

func TestTheBathAsItWasRead(t *testing.T) {
	path := shelfOf(t, shopLadder("ladder", 3, true))
	cool := say("", "plan", "--journal", path, "--json").object(t)["expected"].(map[string]any)
	warm := say("", "plan", "--journal", path, "--json", "--bath-temperature", "24 °C").object(t)
	assert.InDelta(t, 1+(cool["thickness_nm"].(float64)-1)*(1+0.0034*4), warm["expected"].(map[string]any)["thickness_nm"], 1e-6)
	assert.Contains(t, warningCodes(warm), "calibration-other-temperature")
	wrong := say("", "plan", "--journal", path, "--bath-temperature", "24 V")
	assert.Equal(t, statusBadInput, wrong.status)
}

func warningCodes(made map[string]any) []string {
	var all []string
	for _, w := range made["warnings"].([]any) {
		all = append(all, w.(map[string]any)["code"].(string))
	}
	return all
}
