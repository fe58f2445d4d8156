package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// loadOf does a load on the embedded bench and gives its result.
func loadOf(t *testing.T, args ...string) record.Result {
	t.Helper()
	got := say("", append([]string{"run", "--json"}, args...)...)
	require.Equal(t, statusDone, got.status, got.errors)
	lines := strings.Split(strings.TrimSpace(got.out), "\n")
	var result record.Result
	require.NoError(t, json.Unmarshal([]byte(lines[len(lines)-1]), &result))
	require.Equal(t, record.Complete, result.Outcome)
	return result
}

func profileFor(t *testing.T, volts string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "p.yaml")
	text := "name: purple of the clamps\nmetal: titanium-grade-5\nbath: bicarbonate\ntarget: " + volts + "\nramp: 1 V/s\ncurrent density: 5 mA/cm2\nend: {current density: 0.15 mA/cm2, sustained: 5 s}\n"
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// seen is how a film looks on a surface of other optical tables than the program's.
func seen(t *testing.T, result record.Result) string {
	t.Helper()
	surface, err := surfaceOf(profiles.Calibration{Film: "TiO2-Siefke", Substrate: "Ti-Johnson"})
	require.NoError(t, err)
	require.NotNil(t, result.ThicknessByVolts)
	lab := surface.Lab(unit.Nanometres(*result.ThicknessByVolts))
	return fmt.Sprintf("%.2f, %.2f, %.2f", lab.L, lab.A, lab.B)
}

// The clamps of last month were run to 60 V. A new load stops 2 V short, is measured,
// and is stepped up to their colour: in two steps at most, and never past it.
func TestALoadIsSteppedUpToItsMaster(t *testing.T) {
	t.Parallel()
	journal := []string{"--journal", filepath.Join(t.TempDir(), "j.db")}
	call := func(args ...string) said { return say("", append(args, journal...)...) }
	old := loadOf(t, append(journal, "--profile", profileFor(t, "60 V"))...)
	master := seen(t, old)
	now := loadOf(t, append(journal, "--profile", profileFor(t, "58 V"))...)

	none := call("run", "--step-up", "2", "--master", master)
	assert.Equal(t, statusBadInput, none.status)
	assert.Contains(t, none.errors, "no colour reading is attached to run 2")

	steps := 0
	for ; ; steps++ {
		got := call("runs", "read", now.Run, "--lab", seen(t, now), "--part", "headset spacer", "--geometry", "d/8", "--specular", "included", "--by", "Ida")
		require.Equal(t, statusDone, got.status, got.errors)
		assert.Contains(t, got.out, "SIMULATED")
		assert.Contains(t, got.out, "specular included D65/2")
		matched := call("match", "--run", now.Run, "--master", master, "--json").object(t)
		if matched["verdict"] == "accept" {
			break
		}
		require.Equal(t, "step-up", matched["verdict"], "%v", matched)
		require.Less(t, steps, 2)
		assert.EqualValues(t, steps, matched["earlier_readings"])
		planned := call("plan", "--step-up", now.Run, "--master", master, "--json").object(t)
		assert.InDelta(t, matched["to_volts"], planned["target_volts"], 1e-9)
		check := planned["contact_check"].(map[string]any)
		assert.InDelta(t, *now.EndVolts, check["formed_to_volts"], 0.11, "what the rack is formed to")
		assert.Greater(t, check["volts"], check["formed_to_volts"])
		now = loadOf(t, append(journal, "--step-up", now.Run, "--master", master)...)
		assert.Less(t, *now.ThicknessByVolts, *old.ThicknessByVolts+0.3, "never past it")
	}
	want, err := labOf(master)
	require.NoError(t, err)
	is, err := labOf(seen(t, now))
	require.NoError(t, err)
	t.Logf("%d steps, dE00 %.2f", steps, colour.Difference(is, want))
	assert.LessOrEqual(t, colour.Difference(is, want), 1.0)

	again := call("run", "--step-up", now.Run, "--master", master)
	assert.Equal(t, statusNotRight, again.status)
	assert.Contains(t, again.errors, "nothing is planned")
	both := call("plan", "--step-up", now.Run, "--from", "1")
	assert.Equal(t, statusBadInput, both.status)
	alone := call("plan", "--master", master)
	assert.Contains(t, alone.errors, "go with --step-up")
}

func TestReadingsAreAttachedToRuns(t *testing.T) {
	path := shopJournal(t)
	read := func(args ...string) said {
		return say("", append([]string{"runs", "read", "--journal", path}, args...)...)
	}
	assert.Contains(t, read("last").out, "no colour reading is attached")
	got := read("last", "../../testdata/good/readings-cxf.xml", "--by", "Ida", "--json").object(t)
	readings := got["readings"].([]any)
	require.Len(t, readings, 1)
	reading := readings[0].(map[string]any)["reading"].(map[string]any)
	assert.Equal(t, "a maker a sphere 7", reading["instrument"])
	assert.Equal(t, "included", reading["specular"])
	assert.Equal(t, "D65", reading["illuminant"])
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"99", "--lab", "50,1,2"}, "no such run"},
		{[]string{"last", "--lab", "50,1"}, "--lab is"},
		{[]string{"last", "--lab", "50,1,2", "--illuminant", "D50"}, "ours are for D65"},
		{[]string{"last", "--lab", "50,1,2", "--specular", "maybe"}, "included or excluded"},
		{[]string{"last", "--lab", "50,1,2", "--date", "today"}, "year-month-day"},
		{[]string{"last", "--part", "clamp"}, "go with --lab"},
		{[]string{"last", "../../testdata/bad/readings-cxf-no-b.xml"}, "readings-cxf-no-b.xml:6:9: ColorCIELab has no B"},
	} {
		got := read(c.args...)
		assert.Equal(t, statusBadInput, got.status, c.want)
		assert.Contains(t, got.errors, c.want)
	}
	assert.Len(t, read("last", "--json").object(t)["readings"], 1, "nothing was written of what was refused")
}

// Parts that hang together get the volts that are safe for the one furthest ahead; one
// that is there already is to be taken off first.
func TestAStepIsSafeForEveryPart(t *testing.T) {
	t.Parallel()
	journal := []string{"--journal", filepath.Join(t.TempDir(), "j.db")}
	call := func(args ...string) said { return say("", append(args, journal...)...) }
	now := loadOf(t, append(journal, "--profile", profileFor(t, "58 V"))...)
	surface, err := surfaceOf(bookCalibration(t))
	require.NoError(t, err)
	film := unit.Nanometres(*now.ThicknessByVolts)
	lab := func(d unit.Nanometres) string {
		c := surface.Lab(d)
		return fmt.Sprintf("%.3f, %.3f, %.3f", c.L, c.A, c.B)
	}
	attach := func(part string, d unit.Nanometres) {
		require.Equal(t, statusDone, call("runs", "read", "1", "--part", part, "--lab", lab(d)).status)
	}
	attach("headset spacer A", film)
	attach("headset spacer B", film+1)
	master := lab(film + 4)
	both := call("match", "--run", "1", "--master", master, "--json").object(t)
	pieces := both["pieces"].([]any)
	require.Len(t, pieces, 2)
	ahead := pieces[1].(map[string]any)
	require.Equal(t, "step-up", ahead["verdict"])
	assert.Less(t, ahead["to_volts"], pieces[0].(map[string]any)["to_volts"])
	planned := call("plan", "--step-up", "1", "--master", master, "--json").object(t)
	assert.InDelta(t, ahead["to_volts"], planned["target_volts"], 1e-9)

	attach("headset spacer B", film+4)
	refused := call("run", "--step-up", "1", "--master", master)
	assert.Equal(t, statusNotRight, refused.status)
	assert.Contains(t, refused.errors, "headset spacer B of run 1 is there")
	assert.Len(t, call("runs", "--json").object(t)["runs"], 1, "nothing was energised")
}

// bookCalibration are the optical tables of the book calibration.
func bookCalibration(t *testing.T) profiles.Calibration {
	t.Helper()
	c, err := profiles.OpenCalibration("titanium-grade-5-book", nil)
	require.NoError(t, err)
	return c
}
