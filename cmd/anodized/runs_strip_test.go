package main

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/hal/unit"
)

// A part passes its master, is stripped, run again and passes it again: the journal
// counts, with the part and no other.
func TestStripsAreCountedWithTheirParts(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "j.db")
	at := []string{"--journal", path}
	call := func(args ...string) said { return say("", append(args, at...)...) }
	first := loadOf(t, append(at, "--profile", profileFor(t, "14 V"))...)
	surface, err := surfaceOf(bookCalibration(t))
	require.NoError(t, err)
	lab := func(off unit.Nanometres) string {
		c := surface.Lab(unit.Nanometres(*first.ThicknessByVolts) + off)
		return fmt.Sprintf("%.3f, %.3f, %.3f", c.L, c.A, c.B)
	}
	master := lab(-8)
	read := func(run string) {
		require.Equal(t, statusDone, call("runs", "read", run, "--part", "headset spacer A", "--lab", lab(0)).status)
	}
	read("1")
	strips := func(run string) any { return call("runs", "show", run, "--json").object(t)["strips"] }
	assert.EqualValues(t, 0, strips("1"))

	kept := call("runs", "strip", "1", "--part", "headset spacer", "--operator", "Ida", "--json").object(t)
	assert.EqualValues(t, 1, kept["strips"])
	assert.Contains(t, kept["caution"], "an acid with fluoride")
	assert.Contains(t, kept["caution"], "measure what must fit")
	assert.Equal(t, true, kept["simulated"], "as the run is")
	gone := call("match", "--run", "1", "--master", master)
	assert.Contains(t, gone.errors, "the reading is of a film that is gone")
	assert.Contains(t, gone.out, "1 strip so far")
	step := call("run", "--step-up", "1", "--master", lab(8))
	assert.Equal(t, statusBadInput, step.status)
	assert.Contains(t, step.errors, "there is no film to grow on")

	again := append(at, "--profile", profileFor(t, "14 V"))
	loadOf(t, append(again, "--after-strip", "1")...)
	read("2")
	over := call("runs", "read", "2", "--master", master, "--json").object(t)
	piece := over["match"].(map[string]any)["pieces"].([]any)[0].(map[string]any)
	assert.Equal(t, "overshot", piece["verdict"])
	assert.EqualValues(t, 2, piece["strips"], "with the one that it needs now")
	assert.EqualValues(t, 1, over["strips"], "that were done")
	for _, c := range [][]string{{"review", "2"}, {"runs", "show", "2"}} {
		got := call(c...)
		assert.Contains(t, got.out, "1 strip so far of these parts", c)
		assert.Contains(t, got.out, "an acid with fluoride", c)
	}
	assert.EqualValues(t, 1, call("review", "2", "--json").object(t)["strips"])

	require.Equal(t, statusDone, call("runs", "read", "2", "--part", "headset spacer B", "--lab", lab(-1)).status)
	assert.Contains(t, call("match", "--run", "2").out, "headset spacer B: 1 strip so far", "in a set, piece by piece")

	loadOf(t, again...)
	assert.EqualValues(t, 0, strips("3"), "other parts of the same rack and profile")
	text := call("runs", "strip", "2", "--operator", "Ida")
	assert.Contains(t, text.out, "SIMULATED")
	assert.Contains(t, text.out, "2 strips so far")
	assert.EqualValues(t, 2, strips("2"))

	r, err := journal.OpenReadOnly(path)
	require.NoError(t, err)
	found, err := r.Verify(t.Context())
	require.NoError(t, err)
	assert.Equal(t, 2, found.Kept.Strips)
	require.NoError(t, r.Close())
	folder := filepath.Join(t.TempDir(), "out")
	require.Equal(t, statusDone, call("journal", "export", folder).status)
	assert.FileExists(t, filepath.Join(folder, "strips.jsonl"))
}

func TestStripsThatCannotBe(t *testing.T) {
	path := shopJournal(t)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"runs", "strip", "1"}, "--operator is needed"},
		{[]string{"runs", "strip", "9", "--operator", "Ida"}, "no such run"},
		{[]string{"runs", "strip", "1", "--operator", "Ida", "--part", "handlebar"}, `--part "handlebar"`},
		{[]string{"plan", "--after-strip", "1"}, "no strip of run 1 is on record"},
		{[]string{"plan", "--after-strip", "1", "--step-up", "1"}, "give one of the two"},
	} {
		got := say("", append(c.args, "--journal", path)...)
		assert.Equal(t, statusBadInput, got.status, c.want)
		assert.Contains(t, got.errors, c.want)
	}
	shown := say("", "runs", "show", "1", "--journal", path, "--json").object(t)
	assert.EqualValues(t, 0, shown["strips"], "nothing was written of what was refused")
}
