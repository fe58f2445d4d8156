package main

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/hal/unit"
)

// A load is read after it ended: the match stands beside the readings, unasked, and
// wherever the run is shown.
func TestTheMatchStandsBesideTheReadingsOfARun(t *testing.T) {
	t.Parallel()
	journal := []string{"--journal", filepath.Join(t.TempDir(), "j.db")}
	call := func(args ...string) said { return say("", append(args, journal...)...) }
	now := loadOf(t, append(journal, "--profile", profileFor(t, "58 V"))...)
	surface, err := surfaceOf(bookCalibration(t))
	require.NoError(t, err)
	lab := func(off unit.Nanometres) string {
		c := surface.Lab(unit.Nanometres(*now.ThicknessByVolts) + off)
		return fmt.Sprintf("%.3f, %.3f, %.3f", c.L, c.A, c.B)
	}

	told := call("run", "--profile", profileFor(t, "14 V"))
	assert.Contains(t, told.errors, "anodized runs read 2, or sensor --run 2")

	before := call("review", "1", "--json").object(t)
	assert.Nil(t, before["match"], "no reading, no match")
	assert.Equal(t, "unknown", before["verdict"].(map[string]any)["colour"])

	read := call("runs", "read", "1", "--part", "headset spacer A", "--lab", lab(0))
	require.Equal(t, statusDone, read.status, read.errors)
	assert.Contains(t, read.out, "accept")
	assert.Contains(t, read.out, "what the plan of run 1 expected")

	short := call("runs", "read", "1", "--master", lab(4), "--json").object(t)["match"].(map[string]any)
	matched := call("match", "--run", "1", "--master", lab(4), "--json").object(t)
	piece := short["pieces"].([]any)[0].(map[string]any)
	assert.Equal(t, "step-up", short["verdict"])
	for _, key := range []string{"verdict", "add_volts", "to_volts", "expected_de00", "de00", "tolerance", "thickness_nm"} {
		assert.Equal(t, matched[key], piece[key], key)
	}
	assert.Equal(t, matched["to_volts"], short["step_to_volts"])
	assert.Equal(t, fmt.Sprintf("anodized run --step-up 1 --master %q", lab(4)), short["next"])
	text := call("runs", "read", "1", "--master", lab(4))
	assert.Contains(t, text.out, fmt.Sprintf("%.2f V more, to %.2f V: dE00 %.2f is expected", piece["add_volts"], piece["to_volts"], piece["expected_de00"]))

	past := call("runs", "read", "1", "--master", lab(-8))
	require.Equal(t, statusDone, past.status, "the reading is kept: match says by its status that the part is not right")
	assert.Contains(t, past.out, "overshot")
	assert.Contains(t, past.out, "an acid with fluoride")
	assert.Contains(t, past.out, "1 strip with this one")

	assert.Equal(t, "accept", call("review", "1", "--json").object(t)["match"].(map[string]any)["verdict"])
	review := call("review", "1", "--json").object(t)
	assert.Equal(t, "accept", review["verdict"].(map[string]any)["colour"])
	assert.Contains(t, call("review", "1").out, "headset spacer A")
	shown := call("runs", "show", "1", "--json").object(t)
	assert.Len(t, shown["readings"], 1)
	assert.Equal(t, review["match"], shown["match"])
	assert.Contains(t, call("runs", "show", "1").out, "what the plan of run 1 expected")

	call("runs", "read", "1", "--part", "headset spacer B", "--lab", lab(2))
	set := call("runs", "read", "1", "--master", lab(4), "--json").object(t)["match"].(map[string]any)
	assert.Len(t, set["pieces"], 2)
	assert.NotNil(t, set["worst_pair"])
	least := set["pieces"].([]any)[1].(map[string]any)
	if least["verdict"] == "step-up" {
		assert.Equal(t, least["to_volts"], set["step_to_volts"], "what is safe for the one that is ahead")
	} else {
		assert.Nil(t, set["step_to_volts"])
	}
}

// Readings of a run whose calibration tells nothing are kept, and why there is no match is said.
func TestReadingsWithoutAMatchSayWhy(t *testing.T) {
	path := shopJournal(t)
	got := say("", "runs", "read", "last", "--journal", path, "--lab", "50,1,2", "--json").object(t)
	assert.Nil(t, got["match"])
	assert.NotEmpty(t, got["match_unknown"])
	text := say("", "review", "last", "--journal", path)
	assert.Contains(t, text.out, "readings of the parts are on record, and cannot be matched")
	assert.NotContains(t, text.out, "no reading of the parts")
}

// A mistake in the master is bad input, and no reading is kept beside it.
func TestAWrongMasterKeepsNoReading(t *testing.T) {
	path := shopJournal(t)
	before := say("", "runs", "read", "last", "--journal", path, "--json").object(t)["readings"]
	for name, master := range map[string][]string{
		"two numbers": {"--master", "1,2"}, "no file": {"--master-file", "nowhere.yaml"}, "another metal": {"--master-file", "-"},
	} {
		niobium := "name: seat clamp\nmetal: niobium\nfinish: polished\nLab: [50, 1, 2]\n"
		got := say(niobium, append([]string{"runs", "read", "last", "--journal", path, "--lab", "50,1,2"}, master...)...)
		assert.Equal(t, statusBadInput, got.status, name)
		assert.Contains(t, got.errors, "aster", name)
		assert.Equal(t, before, say("", "runs", "read", "last", "--journal", path, "--json").object(t)["readings"], name)
	}
}
