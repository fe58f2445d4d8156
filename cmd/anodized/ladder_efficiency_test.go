package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/film"
	"anodized/hal/virtual/plant"
	"anodized/profiles"
)

// A ladder that was coloured on the embedded bench, whose plant keeps 95 % of its charge,
// and read as its film truly is: the fit takes the efficiency from its runs. SIMULATED.
func TestALadderTellsTheEfficiencyOfItsBath(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	file, path := filepath.Join(folder, "ladder.yaml"), filepath.Join(folder, "journal.db")
	run := func(args ...string) said {
		got := say("", args...)
		require.Equal(t, statusDone, got.status, got.errors)
		return got
	}
	run("ladder", "plan", "--coupons", "4", "--range", "20 V..90 V", "--out", file)
	run("ladder", "run", file, "--journal", path, "--seed", "3")
	require.NoError(t, changeLadder(file, readAsTheyAre(t)))
	c := run("ladder", "fit", file, "--journal", path, "--json").object(t)["calibration"].(map[string]any)
	assert.InEpsilon(t, 0.95, c["efficiency"], 0.03, "the plant's side current makes no film either")
	assert.Less(t, c["efficiency_sd"], 0.02)
	bare := run("ladder", "fit", file, "--journal", filepath.Join(folder, "none.db"), "--json").object(t)["calibration"].(map[string]any)
	assert.NotContains(t, bare, "efficiency", "what nobody showed is not made up")

	out := filepath.Join(folder, "calibration.yaml")
	run("ladder", "fit", file, "--journal", path, "--out", out)
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Contains(t, string(text), "\nefficiency: 0.9")
	law := run("plan", "--calibration", out, "--json").object(t)["law"].(map[string]any)
	assert.Equal(t, c["efficiency"], law["efficiency"])
}

// readAsTheyAre gives each coupon the colour of the film that the plant's own law grew.
func readAsTheyAre(t *testing.T) func(*profiles.Ladder) error {
	surface, err := surfaceOf(profiles.Calibration{Film: "TiO2-Jolivet-amorphous", Substrate: "Ti-Johnson"})
	require.NoError(t, err)
	f := plant.Titanium()
	law := film.New(f.I0, f.B, f.KF, f.Efficiency)
	return func(l *profiles.Ladder) error {
		for i := range l.Coupons {
			one := &l.Coupons[i]
			lab := surface.Lab(law.Thickness(one.Volts, l.End.CurrentDensity))
			one.Lab = &[3]float64{lab.L, lab.A, lab.B}
		}
		return nil
	}
}
