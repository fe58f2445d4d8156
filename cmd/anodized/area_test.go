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

const publishedBlock = "../../controller/rack/mesh/testdata/published/angle_block.STL"

// said is what a command said.
type said struct {
	status      int
	out, errors string
}

func say(stdin string, args ...string) said {
	var out, errors bytes.Buffer
	e := env{stdin: strings.NewReader(stdin), stdout: &out, stderr: &errors, getenv: func(string) string { return "" }}
	status := run(context.Background(), e, args)
	return said{status, out.String(), errors.String()}
}

// object is the one JSON object that a command printed.
func (s said) object(t *testing.T) map[string]any {
	t.Helper()
	require.Equal(t, statusDone, s.status, s.errors)
	decoder := json.NewDecoder(strings.NewReader(s.out))
	var object map[string]any
	require.NoError(t, decoder.Decode(&object), s.out)
	assert.False(t, decoder.More(), "one object, no more")
	return object
}

const oneClamp = `name: one clamp
parts:
  - name: seat clamp
    count: 2
    area: 52.67 cm2
fixture:
  - wire: {diameter: 1.6 mm, wetted length: 60 mm, count: 2}
`

func TestAreaJSON(t *testing.T) {
	got := say("", "area", "six headset spacers with hooks", "--json").object(t)
	assert.InEpsilon(t, 168.07, got["total_cm2"], 1e-4)
	assert.InEpsilon(t, 18.22, got["fixture_cm2"], 1e-3)
	assert.Greater(t, got["uncertainty_cm2"], 0.5)
	part := got["parts"].([]any)[0].(map[string]any)
	assert.InEpsilon(t, 24.976, part["each_cm2"], 1e-4)
	assert.Equal(t, "ring", part["method"])
	assert.InEpsilon(t, 6, part["count"], 1e-12)
}

func TestAreaFromStandardInputAndFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "rack.yaml")
	require.NoError(t, os.WriteFile(file, []byte(oneClamp), 0o600))
	fromFile := say("", "area", file, "--json")
	assert.Equal(t, fromFile.out, say(oneClamp, "area", "-", "--json").out)
	assert.InEpsilon(t, 2*52.67+2*3.03604, fromFile.object(t)["total_cm2"], 1e-6)
}

func TestAreaForPeople(t *testing.T) {
	got := say("", "area", "one headset spacer")
	require.Equal(t, statusDone, got.status)
	for _, want := range []string{"bore", "36 %", "24.976", "ft2", "+-"} {
		assert.Contains(t, got.out, want)
	}
	assert.Empty(t, got.errors)
}

func TestAreaOfAMesh(t *testing.T) {
	got := say("", "area", "--mesh", publishedBlock, "--unit", "in", "--json").object(t)
	assert.InEpsilon(t, 9.388587*6.4516, got["area_cm2"], 5e-4)
	assert.Equal(t, true, got["closed"])
	assert.Len(t, got["bounds_mm"], 3)
	tiny := say("", "area", "--mesh", publishedBlock)
	assert.Equal(t, statusDone, tiny.status)
	assert.Contains(t, tiny.errors, "is that its unit?")
}

// The published block, of density 0.036127 lb/in3, 1 g/cm3: its mass by volume in grade 5.
func TestMassOfAMesh(t *testing.T) {
	got := say("", "area", "--mesh", publishedBlock, "--unit", "in", "--mass", "83.1 g", "--json").object(t)
	const cm3, density = 0.041358 / 0.036127 * 16.387064, 4.43
	assert.InEpsilon(t, cm3*density, got["mass_grams"], 1e-3)
	assert.InDelta(t, 0, got["mass_difference_percent"], 0.2)
	light := say("", "area", "--mesh", publishedBlock, "--unit", "in", "--mass", "70 g")
	assert.Equal(t, statusDone, light.status)
	assert.Contains(t, light.errors, "another metal, unit or part")
	assert.Equal(t, statusBadInput, say("", "area", "--mesh", publishedBlock, "--mass", "70 mm").status)
}

func TestAreaOfARackWithAMesh(t *testing.T) {
	folder := t.TempDir()
	block, err := os.ReadFile(publishedBlock)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(folder, "block.stl"), block, 0o600))
	rack := "name: blocks\nparts:\n  - {name: block, count: 3, mesh: block.stl}\n"
	file := filepath.Join(folder, "rack.yaml")
	require.NoError(t, os.WriteFile(file, []byte(rack), 0o600))
	got := say("", "area", file, "--json").object(t)
	part := got["parts"].([]any)[0].(map[string]any)
	assert.Equal(t, "mesh", part["method"])
	assert.InEpsilon(t, 9.38733795/100, part["each_cm2"], 1e-6)
	planned := say("", "plan", "--rack", file, "--json").object(t)
	assert.InEpsilon(t, 3*9.38733795/100, planned["area_cm2"], 1e-6)

	inches := strings.Replace(rack, "block.stl}", "block.stl, mesh unit: in, masks: [{name: band, mesh: block.stl, mesh unit: mm}]}", 1)
	require.NoError(t, os.WriteFile(file, []byte(inches), 0o600))
	got = say("", "area", file, "--json").object(t)
	part = got["parts"].([]any)[0].(map[string]any)
	assert.InEpsilon(t, 9.38733795/100*(25.4*25.4-1), part["each_cm2"], 1e-6, "less the mask, which is in mm")
	assert.NotContains(t, say("", "area", file).errors, "is that its unit?")
}

func TestAreaRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		stdin string
		args  []string
		want  string
	}{
		"nothing":      {"", []string{"area"}, "name a rack"},
		"both":         {"", []string{"area", "one headset spacer", "--mesh", "x.stl"}, "not both"},
		"no such rack": {"", []string{"area", "one headset spaser"}, "one headset spacer"},
		"bad rack":     {strings.Replace(oneClamp, "52.67 cm2", "52.67 mm", 1), []string{"area", "-"}, "-:5:"},
		"other mesh":   {"", []string{"area", "--mesh", "part.obj"}, "STL and 3MF are read"},
		"no 3MF":       {"PK\x03\x04", []string{"area", "--mesh", "-"}, "no 3MF file"},
		"no mesh file": {"", []string{"area", "--mesh", "nowhere.stl"}, "nowhere.stl"},
		"no mesh":      {"hello", []string{"area", "--mesh", "-"}, "no STL file"},
		"unit":         {"", []string{"area", "--mesh", publishedBlock, "--unit", "m"}, "mm or in"},
		"metal":        {"", []string{"area", "one headset spacer", "--metal", "brass"}, "brass"},
	} {
		got := say(c.stdin, c.args...)
		assert.Equal(t, statusBadInput, got.status, name)
		assert.Contains(t, got.errors, c.want, name)
		assert.Empty(t, got.out, name)
	}
}
