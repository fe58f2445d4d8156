package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/colour"
	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/profiles"
)

// The virtual part is a film of its own making on a metal of its own making: what comes
// out must be its colour class at least.
func TestSensorOfTheVirtualBench(t *testing.T) {
	got := say("", "sensor", "--formed-to", "30 V", "--json").object(t)
	assert.Equal(t, true, got["simulated"])
	assert.Len(t, got["bands"], 8)
	lab := got["Lab"].([]any)
	assert.Less(t, lab[2].(float64), -10.0, "30 V is blue (J. Korean Inst. Surf. Eng. 35(5) 273: light blue at 30 V)")
	stated := got["stated_error"].(map[string]any)
	assert.Greater(t, stated["p95_de00"], stated["median_de00"])
	people := say("", "sensor")
	assert.Contains(t, people.out, "SIMULATED")
	assert.Contains(t, people.out, "stated error")
}

func TestSensorRefuses(t *testing.T) {
	for want, args := range map[string][]string{
		"has no colour sensor": {"sensor", "--bench", "../../testdata/good/bench.yaml"},
		"leave it out":         {"sensor", "--bench", "../../testdata/good/bench-colour-sensor.yaml", "--formed-to", "30 V"},
		"0 V to 200 V":         {"sensor", "--formed-to", "-3 V"},
		"no unit":              {"sensor", "--formed-to", "30"},
	} {
		got := say("", args...)
		assert.Equal(t, statusBadInput, got.status, want)
		assert.Contains(t, got.errors, want)
	}
}

// A part is read by the sensor after its load: the reading is kept with the run, says how
// far it may be off, and the match stands beside it.
func TestSensorReadsAPartOfARun(t *testing.T) {
	t.Parallel()
	at := []string{"--journal", filepath.Join(t.TempDir(), "j.db")}
	call := func(args ...string) said { return say("", append(args, at...)...) }
	loadOf(t, append(at, "--profile", profileFor(t, "30 V"))...)
	got := call("sensor", "--run", "last", "--part", "headset spacer A", "--by", "Ida", "--geometry", "45/0", "--json").object(t)
	attached := got["attached"].(map[string]any)
	kept := attached["readings"].([]any)[0].(map[string]any)
	reading := kept["reading"].(map[string]any)
	assert.Equal(t, true, kept["simulated"])
	assert.Equal(t, "Ida", kept["by"])
	assert.Equal(t, got["Lab"], reading["Lab"])
	assert.Less(t, reading["Lab"].([]any)[2], -10.0, "the part of the run, formed to its 30 V: blue")
	for key, want := range map[string]any{"part": "headset spacer A", "instrument": "SIMULATED colour sensor of 8 bands", "geometry": "45/0", "illuminant": "D65", "observer": "2"} {
		assert.Equal(t, want, reading[key], key)
	}
	stated := got["stated_error"].(map[string]any)
	assert.Equal(t, map[string]any{"median_de00": stated["median_de00"], "p95_de00": stated["p95_de00"]}, reading["stated_error"])

	assert.NotEmpty(t, attached["match"].(map[string]any)["verdict"])

	people := call("sensor", "--run", "1")
	assert.Contains(t, people.out, "+- dE00")
	assert.Contains(t, people.out, "match")
}

// A sensor that is off by its own word tells less of a film than a good instrument does.
func TestReadingsAreBelievedAsFarAsTheyState(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	loadOf(t, "--journal", path, "--profile", profileFor(t, "30 V"))
	result := func(stated *profiles.StatedError) *partsColour {
		run, _, err := runWithReadings(env{getenv: func(string) string { return "" }}, path, "1")
		require.NoError(t, err)
		lab := run.Intent.Plan.Expected.Lab
		one := profiles.ColourReading{Part: "spacer", Lab: &lab, Error: stated}
		c, why := colourOf(env{}, path, run, []record.KeptReading{{Reading: one}}, goalFlags{})
		require.Empty(t, why)
		return c
	}
	good, coarse := result(&profiles.StatedError{Median: 0.4, P95: 0.7}), result(&profiles.StatedError{Median: 2, P95: 6})
	assert.InDelta(t, 2/colour.MiddleOfThree/0.3, float64(coarse.Pieces[0].SD/good.Pieces[0].SD), 1e-9)
	assert.Len(t, good.Notes, 1, "the light that it does not say")
	require.Len(t, coarse.Notes, 3)
	assert.Contains(t, coarse.Notes[1], "off by dE00 2.0 in the middle and 6.0 at the 95th percentile")
	assert.Contains(t, coarse.Notes[2], "more than the dE00 1.00 that is allowed")
}

func TestSensorRefusesARunThatIsNotIts(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	kept, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	_, err = kept.Begin(t.Context(), record.Intent{Supply: "a supply on the bench", TickSeconds: 0.1})
	require.NoError(t, err)
	require.NoError(t, kept.Finish(t.Context(), record.Result{Outcome: record.Complete}))
	require.NoError(t, kept.Close())
	for want, args := range map[string][]string{
		"nothing simulated goes into its record": {"sensor", "--run", "1", "--journal", path},
		"no such run":                            {"sensor", "--run", "9", "--journal", path},
		"--part goes with --run":                 {"sensor", "--part", "seat clamp"},
		"included or excluded":                   {"sensor", "--run", "1", "--specular", "half", "--journal", path},
	} {
		got := say("", args...)
		assert.Equal(t, statusBadInput, got.status, want)
		assert.Contains(t, got.errors, want)
	}
	assert.Empty(t, say("", "runs", "read", "1", "--journal", path, "--json").object(t)["readings"])
}
