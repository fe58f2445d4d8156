package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	twoTones   = "../../testdata/good/profile-two-tone.yaml"
	maskedRack = "../../testdata/good/rack-masked.yaml"
	strip      = "../../testdata/good/profile-sweep.yaml"
)

// Two colours are two runs of one job; the second has the band alone under current, and
// what was coloured before hangs beside it.
func TestTwoTonesOnTheEmbeddedBench(t *testing.T) {
	t.Parallel()
	book := filepath.Join(t.TempDir(), "journal.db")
	job := func(stage string) said {
		return say("", "run", "--profile", twoTones, "--rack", maskedRack, "--stage", stage, "--journal", book, "--json")
	}
	early := job("2")
	assert.Contains(t, early.errors, "stage 1 of \"two tones\" is not on record as complete")
	first, second := job("1"), job("2")
	for volts, one := range map[float64]said{70: first, 30: second} {
		require.Equal(t, statusDone, one.status, one.errors)
		result := lastLine(t, one.out)
		assert.Equal(t, "complete", result["outcome"])
		assert.InDelta(t, volts, result["end_volts"], 0.3)
		assert.InEpsilon(t, result["declared_area_cm2"], result["live_area_cm2"], 0.1, "what is coloured draws nothing")
	}
	assert.Contains(t, first.errors, "take off band, and run again with --stage 2")
	assert.NotContains(t, second.errors, "not on record")
	assert.NotContains(t, second.errors, "next is")
	assert.InEpsilon(t, 16.8, lastLine(t, second.out)["declared_area_cm2"], 1e-6)
}

func TestStagesThatAreRefused(t *testing.T) {
	for want, args := range map[string][]string{
		"stages 1 to 2":              {"plan", "--profile", twoTones, "--rack", maskedRack, "--stage", "3"},
		"stages 1 to 1":              {"plan", "--stage", "2"},
		"has a mask \"band\"":        {"run", "--profile", twoTones},
		"leave out --profile":        {"plan", "--from", "1", "--stage", "2"},
		"grows on to the higher vol": {"plan", "--profile", "../../testdata/bad/profile-stages-rising.yaml"},
	} {
		got := say("", append(args, "--journal", filepath.Join(t.TempDir(), "none.db"))...)
		assert.Equal(t, statusBadInput, got.status, got.errors)
		assert.Contains(t, got.errors, want)
	}
}

func TestPlanOfAColourStrip(t *testing.T) {
	got := say("", "plan", "--profile", strip, "--rack", "one headset spacer", "--stage", "8", "--json").object(t)
	job := got["job"].(map[string]any)
	assert.InDelta(t, -0.875, job["volts_per_mm"], 1e-12)
	runs := job["runs"].([]any)
	require.Len(t, runs, 8)
	assert.InEpsilon(t, 80, runs[7].(map[string]any)["immersed_mm"], 1e-12)
	assert.InEpsilon(t, 20, got["target_volts"], 1e-12)
}

// lastLine is the last of several JSON lines.
func lastLine(t *testing.T, lines string) map[string]any {
	t.Helper()
	all := strings.Split(strings.TrimSpace(lines), "\n")
	var object map[string]any
	require.NoError(t, json.Unmarshal([]byte(all[len(all)-1]), &object), lines)
	return object
}
