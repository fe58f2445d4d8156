package main

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller"
	"anodized/controller/journal"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/hal/virtual"
	"anodized/profiles"
)

// A run that is killed in its ramp is closed with what its film had reached, says what can
// be done, and is planned on from there; the new run, which somebody starts, ends as the
// first would have.
func TestRunThatWasCutOffIsContinuedAsANewOne(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "j.db")
	cut := start(t, "run", "--json", "--speed", "20", "--journal", path)
	for at := 0.0; at < 30; { // so that a second of it is on the disk by then
		require.True(t, cut.lines.Scan(), "%s", &cut.errors)
		var line struct {
			State    string
			Progress *struct{ Volts float64 }
		}
		require.NoError(t, json.Unmarshal(cut.lines.Bytes(), &line))
		if line.State == "ramping" && line.Progress != nil {
			at = line.Progress.Volts
		}
	}
	if err := cut.command.Process.Kill(); !errors.Is(err, os.ErrProcessDone) {
		require.NoError(t, err)
	}
	require.Error(t, cut.command.Wait())

	say := func(want int, args ...string) (string, string) {
		var out, messages strings.Builder
		e := env{stdin: strings.NewReader(""), stdout: &out, stderr: &messages, getenv: os.Getenv}
		require.Equal(t, want, run(t.Context(), e, append(args, "--journal", path)), "%s", &messages)
		return out.String(), messages.String()
	}
	shown, _ := say(statusDone, "runs", "show", "last")
	assert.Contains(t, shown, "interrupted")
	assert.Contains(t, shown, "cut off with the parts formed to about")
	assert.Contains(t, shown, "nothing resumes")
	assert.Contains(t, shown, "anodized plan --from 1")

	before := recorded(t, path, "1").Result
	require.NotNil(t, before.HighestVolts)
	require.NotNil(t, before.ThicknessByVolts)
	text, messages := say(statusDone, "plan", "--from", "1", "--json")
	var made struct {
		ContactCheck struct {
			Formed float64 `json:"formed_to_volts"`
			Volts  float64 `json:"volts"`
		} `json:"contact_check"`
		Target float64 `json:"target_volts"`
	}
	require.NoError(t, json.Unmarshal([]byte(text), &made))
	assert.InDelta(t, *before.HighestVolts, made.ContactCheck.Formed, 0.11)
	assert.InDelta(t, made.ContactCheck.Formed+8, made.ContactCheck.Volts, 1e-9, "contact is checked above the film")
	assert.InDelta(t, *before.TargetVolts, made.Target, 1e-9, "the same volts")
	assert.Contains(t, messages, "run 1 was cut off: planned to go on, on the same parts")
	text, messages = say(statusDone, "plan", "--from", "1", "--new-parts", "--json")
	require.NoError(t, json.Unmarshal([]byte(text), &made))
	assert.Zero(t, made.ContactCheck.Formed)
	assert.Empty(t, messages)
	say(statusBadInput, "plan", "--new-parts")

	again := start(t, "run", "--json", "--from", "1", "--journal", path)
	assert.Equal(t, statusDone, again.end())
	assert.Equal(t, "2", again.result.Run)
	assert.Equal(t, record.Complete, again.result.Outcome)
	assert.InDelta(t, 147, *again.result.ThicknessByVolts, 3)
}

// The record ends a second before the supply did, and the one-shot lets a second pass: the
// parts may be formed up to two volts higher than is known, anywhere up to the target.
func TestContinuedRunsCompleteWhereverTheyWereCutOff(t *testing.T) {
	t.Parallel()
	for _, formed := range []unit.Volts{2, 10, 40, 66, 69.5, 70} {
		for _, more := range []unit.Volts{0, 2} {
			j := job{}
			var err error
			j.request, j.frozen, err = assemble(planFlags{profile: profiles.DefaultProfile, rack: profiles.DefaultRack}, nil)
			require.NoError(t, err)
			j.frozen.Rack.FormedTo, j.request.Rack.FormedTo = formed, formed
			require.NoError(t, j.build())
			setup, err := j.setup()
			require.NoError(t, err)
			for i := range setup.Parts {
				setup.Parts[i].Formed = min(formed+more, j.plan.TargetVolts)
			}
			plant, err := virtual.New(setup)
			require.NoError(t, err)
			kept, err := journal.Open(filepath.Join(t.TempDir(), "j.db"), journal.Options{})
			require.NoError(t, err)
			b := bench{pacer: plant, clockWaits: true, devices: controller.Devices{Supply: plant.Supply(), Interlock: plant.Interlock(),
				Thermometer: plant.Thermometer(), Simulated: true}}
			var out, messages strings.Builder
			res, err := j.do(t.Context(), env{stdout: &out, stderr: &messages}, b, kept)
			require.NoError(t, err)
			assert.Equal(t, record.Complete, res.Outcome, "formed to %v and %v more", formed, more)
			require.NoError(t, kept.Close())
		}
	}
}
