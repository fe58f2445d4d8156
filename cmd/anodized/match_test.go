package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A seat clamp run at 49 V that is to look like one of 50 V: the worked example of the
// design, computed independently.
func TestMatchOfAClamp(t *testing.T) {
	got := say("", "match", "--volts", "49 V", "--measured", "83.15, -9.03, 23.72", "--master", "82.785877,-9.255036,27.821210", "--json").object(t)
	assert.Equal(t, "step-up", got["verdict"])
	for key, want := range map[string]float64{"de00": 1.98, "thickness_nm": 98.18, "add_volts": 0.76, "to_volts": 49.76, "expected_de00": 0.42, "tolerance": 1} {
		assert.InDelta(t, want, got[key], 0.011, key)
	}
	text := say("", "match", "--volts", "49 V", "--measured", "83.15, -9.03, 23.72", "--master", "82.785877,-9.255036,27.821210")
	require.Equal(t, statusDone, text.status, text.errors)
	assert.Contains(t, text.out, "0.76 V more, to 49.76 V")
	assert.Contains(t, text.out, "book, not measured in this bath")
}

func TestMatchSaysWhatOnlyStrippingMends(t *testing.T) {
	got := say("", "match", "--volts", "52 V", "--measured", "81.5,-8.5,36", "--master", "82.785877,-9.255036,27.821210", "--stripped", "1")
	assert.Equal(t, statusNotRight, got.status)
	assert.Contains(t, got.out, "overshot")
	assert.Contains(t, got.out, "an acid with fluoride")
	assert.Contains(t, got.out, "2 strips with this one")
}

func TestMatchOfASet(t *testing.T) {
	sheet := "part,L,a,b\nclamp 1,83.15,-9.03,23.72\nclamp 2,82.79,-9.26,27.82\n"
	got := say(sheet, "match", "--set", "-", "--volts", "49 V", "--json").object(t)
	assert.Equal(t, "warn", got["verdict"])
	worst := got["worst_pair"].(map[string]any)
	assert.InDelta(t, 1.98, worst["de00"], 0.01)
	assert.Contains(t, got["goal_of"], "clamp 2, which is furthest ahead")
	pieces := got["pieces"].([]any)
	assert.Equal(t, "step-up", pieces[0].(map[string]any)["verdict"])
	assert.Equal(t, "accept", pieces[1].(map[string]any)["verdict"])
	assert.Contains(t, got["limits"].(map[string]any)["status"], "common practice")

	got = say(sheet, "match", "--set", "-", "--volts", "49 V", "--master-file", filepath.Join("../../testdata/good", "master.yaml"), "--json").object(t)
	assert.Equal(t, "the master seat clamp, pale yellow", got["goal_of"])
}

func TestMatchRefusesWhatCannotBeMatched(t *testing.T) {
	folder := t.TempDir()
	graphic := filepath.Join(folder, "d50.txt")
	require.NoError(t, os.WriteFile(graphic, []byte("CGATS.17\nILLUMINANT D50\nOBSERVER 2\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\na 50 1 2\nEND_DATA\n"), 0o600))
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--measured", "83,-9,24", "--master", "83,-9,28"}, "colour alone does not tell the order"},
		{[]string{"--volts", "49", "--measured", "83,-9,24", "--master", "83,-9,28"}, "has no unit"},
		{[]string{"--volts", "49 V", "--measured", "183,-9,24", "--master", "83,-9,28"}, "--measured is"},
		{[]string{"--volts", "49 V", "--measured", "83,-9,24"}, "give --master or --master-file"},
		{[]string{"--volts", "49 V", "--set", graphic}, "taken for D50 and the 2 degree observer"},
		{[]string{"--volts", "49 V", "--measured", "83,-9,24", "--master-file", "../../testdata/good/master.yaml", "--metal", "niobium"}, "another metal has other colours"},
		{[]string{"--volts", "49 V", "--measured", "83,-9,24", "--master", "83,-9,28", "--tolerance", "-1"}, "--tolerance is -1"},
		{[]string{"--set", "../../testdata/good/master.yaml", "--volts", "49 V"}, "unknown column"},
		{[]string{"--run", "1", "--metal", "niobium"}, "--run brings metal"},
	} {
		got := say("", append([]string{"match"}, c.args...)...)
		assert.Equal(t, statusBadInput, got.status, c.want)
		assert.Contains(t, got.errors, c.want)
		assert.Empty(t, got.out)
	}
}
