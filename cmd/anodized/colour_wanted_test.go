package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestColourByItsName(t *testing.T) {
	got := say("", "colour", "--wanted", "purple", "--json").object(t)
	assert.Equal(t, "purple", got["wanted"].(map[string]any)["name"])
	candidates := got["candidates"].([]any)
	require.Len(t, candidates, 2, "of the first and the second order")
	orders := map[float64]bool{}
	for _, one := range candidates {
		candidate := one.(map[string]any)
		assert.Equal(t, "purple", candidate["name"])
		orders[candidate["order"].(float64)] = true
		assert.Greater(t, candidate["volts_sd"], 1.0, "a book calibration does not know its volts well")
		assert.Equal(t, true, candidate["covered"])
		assert.Len(t, candidate["illuminants"], 3)
		assert.Len(t, candidate["angles"], 2)
	}
	assert.Len(t, orders, 2)
	said := say("", "colour", "--wanted", "purple").out
	assert.Contains(t, said, "TURNS FROM PURPLE TO")
	assert.Contains(t, said, "at 18.90 V")
	assert.Contains(t, said, "where the volts matter least")
}

// What a candidate says of lamps and tilts is what colour says when it is asked so.
func TestColourWantedAgreesWithColour(t *testing.T) {
	got := say("", "colour", "--wanted", "65.909570,-8.599244,-23.885918", "--json").object(t) // 30 V
	best := got["candidates"].([]any)[0].(map[string]any)
	require.InDelta(t, 30, best["volts"], 1e-3)
	for _, list := range []string{"illuminants", "angles"} {
		for _, one := range best[list].([]any) {
			shift := one.(map[string]any)
			args := []string{"colour", "--json", "--volts", "30 V", "--illuminant", shift["illuminant"].(string)}
			if list == "angles" {
				args = append(args, "--angle", map[float64]string{20: "20", 45: "45"}[shift["angle_deg"].(float64)])
			}
			alone := say("", args...).object(t)
			assert.InDeltaSlice(t, listOf(t, alone["Lab"]), listOf(t, shift["Lab"]), 0.02, "%v", args)
			assert.Equal(t, alone["name"], shift["name"], "%v", args)
		}
	}
	flat := got["flattest"].(map[string]any)
	assert.LessOrEqual(t, flat["de00_per_volt"], best["de00_per_volt"])
}

func TestColourThatCannotBeHad(t *testing.T) {
	for _, metal := range []string{"titanium-grade-5", "niobium"} {
		got := say("", "colour", "--wanted", "black", "--metal", metal)
		assert.Equal(t, statusNotRight, got.status)
		assert.Contains(t, got.out, "darker than any film")
		red := say("", "colour", "--wanted", "red", "--metal", metal, "--json")
		assert.Equal(t, statusNotRight, red.status)
		assert.Contains(t, red.out, "too-vivid")
	}
	assert.Contains(t, say("", "colour", "--help").out, "photograph is not a measurement")
}

func TestColourBeyondTheCoupons(t *testing.T) {
	ladder := shopCalibration + "from volts: 10 V\nto volts: 60 V\ndate: 2025-03-04\nfinish: satin\nbath: bicarbonate\n"
	said := say(ladder, "colour", "--wanted", "#af4cc9", "--calibration", "-")
	assert.Contains(t, said.out, "its coupons do not reach them", said.errors)
	path := filepath.Join(t.TempDir(), "chart.svg")
	got := say(ladder, "colour", "--chart", "0 V..110 V", "--calibration", "-", "--sheet", path)
	require.Equal(t, statusDone, got.status, got.errors)
	drawn, err := os.ReadFile(path)
	require.NoError(t, err)
	for _, words := range []string{"bath: bicarbonate", "finish: satin", "date: 2025-03-04", "coupons 10 V to 60 V", "ladder of bath 2", "0.15 mA/cm2"} {
		assert.Contains(t, string(drawn), words)
	}
	assert.NotContains(t, string(drawn), "SIMULATED")
	assert.NotContains(t, string(drawn), "NOT MEASURED HERE")
}

func TestColourSheets(t *testing.T) {
	t.Parallel()
	simulated := shopCalibration + "simulated: true\n"
	folder := t.TempDir()
	for kind, begins := range map[string]string{"svg": "<?xml", "png": "\x89PNG", "pdf": "%PDF-1.4"} {
		path := filepath.Join(folder, "sheet."+kind)
		got := say(simulated, "colour", "--chart", "0 V..110 V", "--step", "0.5 V", "--calibration", "-", "--sheet", path)
		require.Equal(t, statusDone, got.status, got.errors)
		content, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(string(content), begins), kind)
		if kind != "png" {
			assert.Contains(t, string(content), "SIMULATED", kind)
		}
	}
	path := filepath.Join(folder, "ta.pdf")
	got := say("", "colour", "--metal", "tantalum", "--chart", "0 V..110 V", "--sheet", path)
	require.Equal(t, statusDone, got.status, got.errors)
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(content), "INDICATIVE")
	assert.Contains(t, string(content), "NOT MEASURED HERE")
}

// Every wavelength of the sums, and of a film of 100 nm at 550 nm what the reflectance
// of the tables is.
func TestColourSpectrum(t *testing.T) {
	got := say("", "colour", "--thickness", "100 nm", "--spectrum", "--json").object(t)
	spectrum := got["spectrum"].(map[string]any)
	wavelengths, reflectance := listOf(t, spectrum["wavelength_nm"]), listOf(t, spectrum["reflectance"])
	require.Len(t, wavelengths, 81)
	require.Len(t, reflectance, 81)
	assert.InDelta(t, 380, wavelengths[0], 0)
	assert.InDelta(t, 780, wavelengths[80], 0)
	for _, share := range reflectance {
		assert.Greater(t, share, 0.0)
		assert.Less(t, share, 1.0)
	}
	assert.Contains(t, say("", "colour", "--thickness", "100 nm", "--spectrum").out, "reflectance")
	chart := say("", "colour", "--chart", "0 V..10 V", "--spectrum", "--json").object(t)
	assert.NotNil(t, chart["colours"].([]any)[2].(map[string]any)["spectrum"])
}

func TestOnlyTantalumIsIndicative(t *testing.T) {
	for metal, want := range map[string]bool{"titanium-grade-2": false, "titanium-grade-5": false, "niobium": false, "tantalum": true} {
		got := say("", "colour", "--volts", "30 V", "--metal", metal, "--json").object(t)
		assert.Equal(t, want, got["indicative"], metal)
	}
	assert.Contains(t, say("", "colour", "--wanted", "blue", "--metal", "tantalum").out, "INDICATIVE")
}
