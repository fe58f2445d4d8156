package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheCalibrationsOfTheShopAreListed(t *testing.T) {
	coarse := shopLadder("ladder-coarse", 2, false)
	coarse.NMPerVoltSD, coarse.Finish, coarse.Temperature = 0.06, "fine blasted", 0
	niobium := shopLadder("ladder-niobium", 1, false)
	niobium.Metal = "niobium"
	path := shelfOf(t, shopLadder("ladder-old", 90, true), coarse, niobium)
	list := say("", "ladder", "list", "--journal", path, "--json").object(t)["calibrations"].([]any)
	require.Len(t, list, 3)
	want := []map[string]any{{"verdict": "good", "age_days": 1.0}, {"verdict": "local", "age_days": 2.0}, {"verdict": "stale", "age_days": 90.0}}
	for i, id := range []string{"ladder-niobium", "ladder-coarse", "ladder-old"} {
		one := list[i].(map[string]any)
		assert.Equal(t, id, one["calibration"].(map[string]any)["id"])
		for key, value := range want[i] {
			assert.Equal(t, value, one[key], "%s %s", id, key)
		}
		assert.Equal(t, "Ida", one["by"])
	}
	text := say("", "ladder", "list", "--journal", path).out
	for _, words := range []string{"fine blasted", "not said", "0.15 mA/cm2", "20 °C", "10 V to 95 V", "2.1 +- 0.004", "ladder-coarse: nm/V is known to 2.9 %", "90 days old"} {
		assert.Contains(t, text, words)
	}
	for _, line := range strings.Split(text, "\n") {
		if strings.HasPrefix(line, "ladder-old  ") {
			assert.Contains(t, line, "SIMULATED")
		}
	}
	alone := say("", "ladder", "list", "--journal", path, "--metal", "niobium", "--json").object(t)["calibrations"]
	assert.Len(t, alone, 1)
	none := say("", "ladder", "list", "--journal", filepath.Join(t.TempDir(), "none.db"))
	assert.Equal(t, statusDone, none.status)
	assert.Contains(t, none.out, "no calibration of the shop is kept")
}

// A chart, a colour and a match by a calibration of the journal, each by its id.
func TestColourAndMatchByAStoredCalibration(t *testing.T) {
	path := shelfOf(t, shopLadder("ladder", 3, true))
	one := say("", "colour", "--volts", "70 V", "--calibration", "ladder", "--journal", path, "--json").object(t)
	assert.InDelta(t, 1+2.1*70, one["thickness_nm"], 1e-6)
	assert.Equal(t, "ladder", one["calibration"].(map[string]any)["id"])
	chart := say("", "colour", "--chart", "0 V..100 V", "--calibration", "ladder", "--journal", path, "--sheet", filepath.Join(t.TempDir(), "chart.pdf"))
	require.Equal(t, statusDone, chart.status, chart.errors)
	assert.Contains(t, chart.out, "calibration ladder (SIMULATED)")
	matched := say("", "match", "--volts", "49 V", "--measured", "83.15, -9.03, 23.72", "--master", "82.785877,-9.255036,27.821210", "--calibration", "ladder", "--journal", path, "--json")
	assert.Contains(t, matched.out, `"id":"ladder"`)
	unknown := say("", "colour", "--volts", "70 V", "--calibration", "ladder-gone", "--journal", path)
	assert.Equal(t, statusBadInput, unknown.status)
	assert.Contains(t, unknown.errors, "the journal keeps: ladder")
}
