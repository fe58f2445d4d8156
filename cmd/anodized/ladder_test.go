package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/film"
	"anodized/hal/unit"
	"anodized/profiles"
)

// sheetOf writes the colours of coupons with 2.08 nm/V and 1.2 nm, as the tables have
// them: SIMULATED.
func sheetOf(t *testing.T, film, substrate string, ends ...string) string {
	t.Helper()
	surface, err := surfaceOf(profiles.Calibration{Film: film, Substrate: substrate})
	require.NoError(t, err)
	lines := []string{"volts,L,a,b,end_ma_cm2,spot"}
	for i, v := range []float64{15, 18.5, 26, 45.5, 65, 77, 96.5, 100} {
		lab := surface.Lab(unit.Nanometres(1.2 + 2.08*v))
		lines = append(lines, fmt.Sprintf("%g,%.4f,%.4f,%.4f,%s,left", v, lab.L, lab.A, lab.B, ends[i%len(ends)]))
	}
	path := filepath.Join(t.TempDir(), "readings.csv")
	require.NoError(t, os.WriteFile(path, []byte(strings.Join(lines, "\n")+"\n"), 0o644))
	return path
}

func fitJSON(t *testing.T, args ...string) map[string]any {
	t.Helper()
	return say("", append([]string{"ladder", "fit", "--json"}, args...)...).object(t)
}

// The names that programs of others rely on.
func TestLadderFitAnswers(t *testing.T) {
	t.Parallel()
	answer := fitJSON(t, sheetOf(t, "TiO2-Jolivet-amorphous", "Ti-Johnson", "0.15"), "--metal", "titanium-grade-2")
	c := answer["calibration"].(map[string]any)
	assert.InDelta(t, 2.08, c["nm_per_volt"], 1e-4)
	assert.InDelta(t, 1.2, c["offset_nm"], 0.01)
	for key, want := range map[string]any{"end_current_density_ma_cm2": 0.15, "metal": "titanium-grade-2", "film": "TiO2-Jolivet-amorphous", "substrate": "Ti-Johnson", "index_scale": 1.0} {
		assert.Equal(t, want, c[key], key)
	}
	for _, key := range []string{"nm_per_volt_sd", "offset_nm_sd", "optical_nm_per_volt"} {
		assert.Greater(t, c[key], 0.0, key)
	}
	assert.Less(t, answer["rms_de00"], 0.02)
	readings := answer["readings"].([]any)
	require.Len(t, readings, 8)
	first := readings[0].(map[string]any)
	assert.Equal(t, 15.0, first["volts"])
	assert.Equal(t, false, first["outlier"])
	assert.Less(t, first["de00"], 0.05)
	assert.Equal(t, "good", answer["verdict"])
}

// Readings with two ends are brought to one by the growth law: 15 V at 0.5 mA/cm2 count
// for fewer at 0.15.
func TestLadderFitConvertsEnds(t *testing.T) {
	t.Parallel()
	answer := fitJSON(t, sheetOf(t, "TiO2-Jolivet-amorphous", "Ti-Johnson", "0.5"), "--end", "0.15 mA/cm2")
	metal, err := profiles.OpenMetal("titanium-grade-5", nil)
	require.NoError(t, err)
	law := film.FromGrowth(metal.Growth)
	want := 2.08 * law.NMPerVolt(0.15) / law.NMPerVolt(0.5)
	assert.InDelta(t, want, answer["calibration"].(map[string]any)["nm_per_volt"], 1e-3)
}

// Of tables that do not describe the readings it is said which do, and on request they
// are taken.
func TestLadderFitFindsTheTables(t *testing.T) {
	t.Parallel()
	sheet := sheetOf(t, "TiO2-Franta", "Ti-Rakic-BB", "0.15")
	off := say("", "ladder", "fit", sheet)
	assert.Equal(t, statusNotRight, off.status)
	assert.Contains(t, off.out, "--film TiO2-Franta --substrate Ti-Rakic-BB")
	answer := fitJSON(t, sheet, "--choose-tables")
	c := answer["calibration"].(map[string]any)
	assert.Equal(t, []any{"TiO2-Franta", "Ti-Rakic-BB"}, []any{c["film"], c["substrate"]})
	assert.InDelta(t, 2.08, c["nm_per_volt"], 1e-3)
	named := fitJSON(t, sheet, "--film", "TiO2-Franta", "--substrate", "Ti-Rakic-BB")
	assert.Equal(t, c["nm_per_volt"], named["calibration"].(map[string]any)["nm_per_volt"])
}

func TestLadderPlanAnswers(t *testing.T) {
	t.Parallel()
	planned := say("", "ladder", "plan", "--json", "--coupons", "6", "--range", "15 V..95 V")
	require.Equal(t, statusDone, planned.status, planned.errors)
	var answer ladderPlanAnswer
	require.NoError(t, json.Unmarshal([]byte(planned.out), &answer))
	require.Len(t, answer.Coupons, 6)
	for i, c := range answer.Coupons {
		assert.True(t, c.Volts >= 15 && c.Volts <= 95)
		assert.InDelta(t, 0, math.Remainder(float64(c.Volts), 0.5), 1e-9)
		assert.Equal(t, i+1, c.Coupon)
	}
	assert.Less(t, answer.Expected.FilmSD, answer.Expected.EvenFilmSD)
	assert.True(t, answer.Simulated)
}
