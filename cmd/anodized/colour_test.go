package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const shopCalibration = `id: bath-2-march
metal: titanium-grade-5
film: TiO2-Jolivet-amorphous
substrate: Ti-Johnson
nm per volt: 2.02 nm/V
offset: 1.5 nm
nm per volt sd: 0.01 nm/V
offset sd: 0.1 nm
end current density: 0.15 mA/cm2
provenance: ladder of bath 2, 10 to 100 V, invented for this test
`

func listOf(t *testing.T, value any) []float64 {
	t.Helper()
	list, ok := value.([]any)
	require.True(t, ok, "%v is no list", value)
	found := make([]float64, len(list))
	for i := range list {
		found[i] = list[i].(float64)
	}
	return found
}

func TestColourOfVoltsAsJSON(t *testing.T) { // colours computed independently
	got := say("", "colour", "--volts", "50 V", "--json").object(t)
	assert.InDeltaSlice(t, []float64{82.785877, -9.255036, 27.821210}, listOf(t, got["Lab"]), 1e-6)
	assert.InDeltaSlice(t, []float64{54.954008, 61.760473, 39.381861}, listOf(t, got["XYZ"]), 1e-6)
	assert.InDeltaSlice(t, []float64{82.785877, 29.320, 108.40}, listOf(t, got["LCh"]), 5e-3)
	assert.InDelta(t, 100, got["thickness_nm"], 1e-9)
	assert.InDelta(t, 50, got["volts"], 0)
	assert.Equal(t, "#d1d29a", got["hex"])
	assert.Equal(t, true, got["in_gamut"])
	assert.Equal(t, "pale yellow", got["name"])
	assert.InDelta(t, 2.1346, got["de00_per_volt"], 1e-4)
	assert.Equal(t, "titanium-grade-5", got["metal"])
	assert.Equal(t, "TiO2-Jolivet-amorphous", got["film"])
	assert.Equal(t, "Ti-Johnson", got["substrate"])
	assert.Equal(t, "D65", got["illuminant"])
	assert.Equal(t, "CIE 1931 2 degree", got["observer"])
	assert.InDelta(t, 0, got["angle_deg"], 0)
	tolerance := got["tolerance_volts"].(map[string]any)
	assert.InDelta(t, 0.47, tolerance["de00_1"], 0.01)
	assert.Greater(t, tolerance["de00_2"], tolerance["de00_1"])
	calibration := got["calibration"].(map[string]any)
	assert.Equal(t, "titanium-grade-5-book", calibration["id"])
	assert.InDelta(t, 1.97, calibration["nm_per_volt"], 0)
	assert.InDelta(t, 1.5, calibration["offset_nm"], 0)
	assert.InDelta(t, 0.5, calibration["end_current_density_ma_cm2"], 0)
	assert.NotEmpty(t, calibration["provenance"])
}

func TestColourOtherwiseLookedAt(t *testing.T) { // computed independently
	for name, row := range map[string]struct {
		args []string
		lab  []float64
	}{
		"D50":        {[]string{"--volts", "30 V", "--illuminant", "d50"}, []float64{65.283495, -13.033501, -24.624420}},
		"A":          {[]string{"--volts", "30 V", "--illuminant", "A"}, []float64{63.178315, -19.425410, -27.478240}},
		"20 degrees": {[]string{"--volts", "85 V", "--angle", "20"}, []float64{58.462429, -17.079350, -38.002651}},
		"tables":     {[]string{"--thickness", "100 nm", "--film", "TiO2-Sarkar", "--substrate", "Ti-Mash"}, []float64{79.712091, -8.358921, 6.363824}},
		"niobium":    {[]string{"--thickness", "60 nm", "--metal", "niobium"}, []float64{63.113313, -5.567167, -28.661738}},
	} {
		got := say("", append([]string{"colour", "--json"}, row.args...)...).object(t)
		assert.InDeltaSlice(t, row.lab, listOf(t, got["Lab"]), 1e-6, name)
	}
}

func TestColourAtAnotherEnd(t *testing.T) { // 2.080 nm/V computed independently
	got := say("", "colour", "--volts", "50 V", "--end", "0.15 mA/cm2", "--json").object(t)
	calibration := got["calibration"].(map[string]any)
	assert.InDelta(t, 2.0796, calibration["nm_per_volt"], 1e-4)
	assert.InDelta(t, 0.15, calibration["end_current_density_ma_cm2"], 0)
	assert.Contains(t, calibration["provenance"], "converted by the growth law from 1.97 nm/V at 0.5 mA/cm2")
	assert.InDelta(t, 1.5+50*calibration["nm_per_volt"].(float64), got["thickness_nm"], 1e-9)
}

func TestColourByTheShopsCalibration(t *testing.T) {
	got := say(shopCalibration, "colour", "--volts", "50 V", "--calibration", "-", "--json").object(t)
	assert.InDelta(t, 102.5, got["thickness_nm"], 1e-9)
	assert.Equal(t, "titanium-grade-5", got["metal"])
	path := filepath.Join(t.TempDir(), "bath-2.yaml")
	require.NoError(t, os.WriteFile(path, []byte(shopCalibration), 0o600))
	same := say("", "colour", "--volts", "50 V", "--calibration", path, "--metal", "titanium-grade-5", "--json").object(t)
	assert.Equal(t, got, same)
	other := say("", "colour", "--volts", "50 V", "--calibration", path, "--metal", "niobium")
	assert.Equal(t, statusBadInput, other.status)
	assert.Contains(t, other.errors, "is of titanium-grade-5, not of niobium")
}

func TestColourThinnerThanThatOfNoVolts(t *testing.T) {
	got := say("", "colour", "--thickness", "1 nm", "--json").object(t)
	assert.Nil(t, got["volts"])
	assert.InDelta(t, 1, got["thickness_nm"], 1e-12)
	assert.Contains(t, say("", "colour", "--thickness", "1 nm").out, "at 0 V the film is 1.50 nm already")
}

func TestColourWanted(t *testing.T) {
	got := say("", "colour", "--wanted", "82.785877,-9.255036,27.821210", "--json").object(t)
	assert.Equal(t, true, got["reachable"])
	assert.InDeltaSlice(t, []float64{82.785877, -9.255036, 27.821210}, listOf(t, got["wanted"].(map[string]any)["Lab"]), 0)
	candidates := got["candidates"].([]any)
	best := candidates[0].(map[string]any)
	assert.InDelta(t, 50, best["volts"], 1e-3)
	assert.InDelta(t, 100, best["thickness_nm"], 2e-3)
	assert.InDelta(t, 0, best["de00"], 1e-3)
	assert.InDelta(t, 2, best["order"], 0)
	assert.Equal(t, "#d1d29a", best["hex"])
	assert.InDelta(t, 0.47, best["tolerance_volts"].(map[string]any)["de00_1"], 0.01)
	for i := 1; i < len(candidates); i++ {
		assert.GreaterOrEqual(t, candidates[i].(map[string]any)["de00"], candidates[i-1].(map[string]any)["de00"])
	}
	screen := say("", "colour", "--wanted", "#AF4CC9", "--json").object(t)
	assert.Equal(t, "#af4cc9", screen["wanted"].(map[string]any)["hex"])
	assert.InDelta(t, 75, screen["candidates"].([]any)[0].(map[string]any)["volts"], 0.1)
}

func TestColourOutOfReach(t *testing.T) {
	got := say("", "colour", "--wanted", "#00ff00", "--json")
	assert.Equal(t, statusNotRight, got.status)
	assert.Contains(t, got.errors, "not reachable: the nearest")
	var answer map[string]any
	require.NoError(t, json.Unmarshal([]byte(got.out), &answer))
	assert.Equal(t, false, answer["reachable"])
	assert.NotEmpty(t, answer["candidates"])
	people := say("", "colour", "--wanted", "#00ff00")
	assert.Equal(t, statusNotRight, people.status)
	assert.Contains(t, people.out, "not reachable, the nearest are:")
}

func TestColourChart(t *testing.T) {
	got := say("", "colour", "--chart", "0 V..110 V", "--step", "10 V", "--json").object(t)
	colours := got["colours"].([]any)
	require.Len(t, colours, 12)
	for i, row := range colours {
		assert.InDelta(t, 10*i, row.(map[string]any)["volts"], 1e-12)
		assert.NotEmpty(t, row.(map[string]any)["calibration"].(map[string]any)["provenance"])
	}
	assert.Len(t, say("", "colour", "--chart", "0 V..110 V", "--json").object(t)["colours"], 23, "by 5 V where no step is given")
}

func TestColourNeverWithoutProvenance(t *testing.T) {
	for _, args := range [][]string{
		{"--volts", "85 V"}, {"--chart", "80 V..90 V"}, {"--wanted", "60,-23,-35"},
	} {
		got := say("", append([]string{"colour"}, args...)...)
		require.Equal(t, statusDone, got.status, got.errors)
		assert.Contains(t, got.out, "calibration titanium-grade-5-book (book, not measured in this bath)")
		assert.Contains(t, got.out, "common practice, no source")
		assert.Contains(t, got.out, "outside the screen's gamut, shown clipped")
		assert.NotContains(t, got.out, "\x1b", "no colour but on a terminal")
	}
	assert.Contains(t, say("", "colour", "--volts", "30 V", "--metal", "tantalum").out, "INDICATIVE")
}

func TestColourOnATerminal(t *testing.T) {
	show := func(variables map[string]string) string {
		var out, errors bytes.Buffer
		e := env{stdin: strings.NewReader(""), stdout: &out, stderr: &errors, terminal: true,
			getenv: func(name string) string { return variables[name] }}
		require.Equal(t, statusDone, run(context.Background(), e, []string{"colour", "--volts", "30 V"}), errors.String())
		return out.String()
	}
	assert.Contains(t, show(nil), "\x1b[48;2;111;167;202m", "#6fa7ca")
	assert.NotContains(t, show(map[string]string{"NO_COLOR": "1"}), "\x1b")
}

func TestColourPlot(t *testing.T) {
	t.Parallel()
	for _, args := range [][]string{{"--chart", "0 V..110 V"}, {"--volts", "70 V"}, {"--wanted", "50,58,-48"}} {
		for _, kind := range []string{"svg", "png"} {
			path := filepath.Join(t.TempDir(), "chart."+kind)
			got := say("", append([]string{"colour", "--plot", path}, args...)...)
			require.Equal(t, statusDone, got.status, got.errors)
			content, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Greater(t, len(content), 1000)
		}
	}
}

func TestColourRefuses(t *testing.T) {
	t.Parallel()
	for name, row := range map[string]struct {
		args []string
		says string
	}{
		"nothing":          {nil, "ask for one thing"},
		"two things":       {[]string{"--volts", "5 V", "--wanted", "1,2,3"}, "ask for one thing"},
		"no unit":          {[]string{"--volts", "50"}, "has no unit"},
		"wrong dimension":  {[]string{"--volts", "50 nm"}, "voltage"},
		"below zero":       {[]string{"--volts=-1 V"}, "from 0 V"},
		"too many volts":   {[]string{"--volts", "5 kV"}, "to 500 V"},
		"too thick":        {[]string{"--thickness", "5 um"}, "to 1000 nm"},
		"not a number":     {[]string{"--volts", "NaN V"}, "NaN"},
		"metal":            {[]string{"--volts", "5 V", "--metal", "titanium-grade-55"}, "titanium-grade-5"},
		"calibration":      {[]string{"--volts", "5 V", "--calibration", "nowhere.yaml"}, "nowhere.yaml"},
		"film":             {[]string{"--volts", "5 V", "--film", "TiO2-Jolivet-amorphus"}, "TiO2-Jolivet-amorphous"},
		"illuminant":       {[]string{"--volts", "5 V", "--illuminant", "D66"}, "D65"},
		"grazing":          {[]string{"--volts", "5 V", "--angle", "90"}, "below 90"},
		"no angle":         {[]string{"--volts", "5 V", "--angle", "NaN"}, "below 90"},
		"end":              {[]string{"--volts", "5 V", "--end", "0 mA/cm2"}, "above 0"},
		"range":            {[]string{"--chart", "0 V-110 V"}, "0 V..110 V"},
		"range from":       {[]string{"--chart", "0..110 V"}, "has no unit"},
		"range to":         {[]string{"--chart", "0 V..110"}, "has no unit"},
		"range falls":      {[]string{"--chart", "50 V..40 V"}, "it rises"},
		"range too far":    {[]string{"--chart", "0 V..1 kV"}, "500 V"},
		"no step":          {[]string{"--chart", "0 V..110 V", "--step", "0 V"}, "above 0 V"},
		"too fine":         {[]string{"--chart", "0 V..110 V", "--step", "0.1 mV"}, "the most are"},
		"step of no chart": {[]string{"--volts", "5 V", "--step", "1 V"}, "--step"},
		"two parts":        {[]string{"--wanted", "50,20"}, "L,a,b"},
		"four parts":       {[]string{"--wanted", "50,20,3,4"}, "L,a,b"},
		"too bright":       {[]string{"--wanted", "101,0,0"}, "L from 0 to 100"},
		"too vivid":        {[]string{"--wanted", "50,0,151"}, "from -150 to 150"},
		"no colour":        {[]string{"--wanted", "#12345"}, "hexadecimal"},
		"words":            {[]string{"--wanted", "a,b,c"}, "--wanted"},
		"no such name":     {[]string{"--wanted", "octarine"}, "purple"},
		"nothing wanted":   {[]string{"--wanted", " "}, "L,a,b"},
		"sheet of nothing": {[]string{"--volts", "5 V", "--sheet", "chart.pdf"}, "--sheet is of a --chart"},
		"sheet":            {[]string{"--chart", "0 V..9 V", "--sheet", "chart.gif"}, "a sheet as .pdf too"},
		"sheet nowhere":    {[]string{"--chart", "0 V..9 V", "--sheet", filepath.Join("no", "such", "folder.pdf")}, "--sheet"},
		"spectra":          {[]string{"--chart", "0 V..9 V", "--spectrum"}, "--spectrum"},
		"spectrum wanted":  {[]string{"--wanted", "50,0,0", "--spectrum", "--json"}, "--spectrum"},
		"infinite":         {[]string{"--wanted", "Inf,0,0"}, "--wanted"},
		"plot":             {[]string{"--volts", "5 V", "--plot", "chart.gif"}, ".svg or .png"},
		"plot nowhere":     {[]string{"--volts", "5 V", "--plot", filepath.Join("no", "such", "folder.svg")}, "--plot"},
		"both from stdin":  {[]string{"--volts", "5 V", "--metal", "-", "--calibration", "-"}, "standard input"},
		"argument":         {[]string{"blue"}, "blue"},
	} {
		got := say("", append([]string{"colour"}, row.args...)...)
		assert.Equal(t, statusBadInput, got.status, name)
		assert.Contains(t, got.errors, row.says, name)
		assert.Empty(t, got.out, name)
	}
}
