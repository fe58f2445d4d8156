package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
	"anodized/controller/plan"
	"anodized/controller/record"
	"anodized/hal/unit"
	"anodized/profiles"
)

// sinceOf is what plan --from says has changed, by what it is.
func sinceOf(t *testing.T, args ...string) map[string]map[string]any {
	t.Helper()
	made := say("", append([]string{"plan", "--json", "--from"}, args...)...).object(t)
	all := map[string]map[string]any{}
	for _, one := range made["repeats"].(map[string]any)["changed"].([]any) {
		all[one.(map[string]any)["what"].(string)] = one.(map[string]any)
	}
	return all
}

func TestARepeatSaysThatNothingHasChanged(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "journal.db")
	loadsOf(t, path, 1)
	unread := sinceOf(t, "last", "--journal", path)
	assert.Len(t, unread, 1)
	assert.Contains(t, unread["bath temperature"]["message"], "nobody read the bath")
	assert.Empty(t, sinceOf(t, "last", "--journal", path, "--bath-temperature", "20 °C"))
	sheet := say("", "plan", "--from", "last", "--journal", path, "--bath-temperature", "20 °C")
	assert.Contains(t, sheet.out, "nothing that is known has changed")
	none := say("", "plan", "--journal", path, "--json").object(t)
	assert.NotContains(t, none, "repeats")
}

func TestARepeatSaysWhatHasChanged(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "journal.db")
	profile, err := profiles.OpenProfile(profiles.DefaultProfile, nil)
	require.NoError(t, err)
	text := strings.ReplaceAll(`name: "shop purple"
metal: titanium-grade-5
bath: bicarbonate
target: 70 V
ramp: RAMP
current density: 5 mA/cm2
end: {current density: 0.15 mA/cm2, sustained: 5 s, least hold: 5 s, longest hold: 180 s}
`, "RAMP", unit.Format(profile.Ramp))
	file := filepath.Join(t.TempDir(), "purple.yaml")
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	loadsOf(t, path, 1, "--profile", file)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(text, "70 V", "71 V", 1)), 0o600))
	loadsOf(t, path, 1, "--profile", file)
	j, err := journal.Open(path, journal.Options{})
	require.NoError(t, err)
	require.NoError(t, j.SaveCalibration(record.KeptCalibration{By: "Ida", Calibration: shopLadder("ladder", 3, true)}))
	require.NoError(t, j.Close())
	since := sinceOf(t, "1", "--journal", path, "--bath-temperature", "30 °C")
	assert.Contains(t, since["calibration"]["was"], "titanium-grade-5-book, 1.97 nm/V")
	assert.Contains(t, since["calibration"]["now"], "ladder, 2.1 nm/V")
	assert.Equal(t, "as in run 2", since["profile"]["now"])
	assert.Contains(t, since["profile"]["message"], "differs in target")
	assert.Equal(t, "30 °C", since["bath temperature"]["now"])
	assert.NotContains(t, since, "rack")
	assert.NotContains(t, since, "software")
	again := say("", "run", "--from", "1", "--journal", path)
	assert.Contains(t, again.errors, "since run 1: calibration was titanium-grade-5-book")
}

// Each thing of a record that is no longer so is told, by itself.
func TestEachChange(t *testing.T) {
	request, kept, err := assemble(planFlags{profile: profiles.DefaultProfile, rack: profiles.DefaultRack}, nil)
	require.NoError(t, err)
	made, err := plan.Build(request)
	require.NoError(t, err)
	same := record.Intent{StartedAt: time.Now(), Plan: made, Profile: kept.Profile, Rack: kept.Rack, Metal: kept.Metal, Bath: kept.Bath,
		Calibration: kept.Calibration, Simulated: true, Supply: "SIMULATED supply", Version: softwareVersion()}
	for what, change := range map[string]func(*record.Run){
		"":        func(*record.Run) {},
		"profile": func(r *record.Run) { r.Intent.Profile.Ramp = 2 },
		"rack": func(r *record.Run) {
			r.Intent.Rack.Parts = append([]profiles.Part{}, r.Intent.Rack.Parts[0], r.Intent.Rack.Parts[0])
		},
		"parts":         func(r *record.Run) { r.Intent.Rack.FormedTo = 40 },
		"metal":         func(r *record.Run) { r.Intent.Metal.Growth.B *= 1.01 },
		"bath":          func(r *record.Run) { r.Intent.Bath.Series = 9 },
		"calibration":   func(r *record.Run) { r.Intent.Calibration.NMPerVolt = 1.9 },
		"software":      func(r *record.Run) { r.Intent.Version = "an older one" },
		"supply":        func(r *record.Run) { r.Intent.Simulated = false },
		"current limit": func(r *record.Run) { r.Intent.Plan.CurrentLimit *= 1.1 },
		"end current":   func(r *record.Run) { r.Intent.Plan.End.Current *= 1.1 },
		"bath temperature": func(r *record.Run) {
			r.Rows = []record.Row{{Bath: 21}}
		},
	} {
		run := record.Run{ID: "7", Intent: same}
		change(&run)
		since, err := sinceThen(run, kept, made, "")
		require.NoError(t, err)
		var all []string
		for _, c := range since.Changed {
			all = append(all, c.What)
			assert.NotEmpty(t, c.Message)
		}
		want := []string{what}
		if what == "" {
			want = nil
		}
		assert.Equal(t, want, all, what)
	}
}
