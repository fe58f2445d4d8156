package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/record"
)

// reviewBench runs commands against a journal of their own.
type reviewBench struct {
	t       *testing.T
	folder  string
	journal string
}

func newReviewBench(t *testing.T) reviewBench {
	folder := t.TempDir()
	return reviewBench{t, folder, filepath.Join(folder, "journal.db")}
}

func (b reviewBench) path(name string) string { return filepath.Join(b.folder, name) }

// do runs a command and returns what it printed, what it said, and its exit status.
func (b reviewBench) do(args ...string) (stdout, stderr string, status int) {
	var out, messages bytes.Buffer
	e := env{stdin: strings.NewReader(""), stdout: &out, stderr: &messages, getenv: func(string) string { return "" }}
	status = run(context.Background(), e, args)
	return out.String(), messages.String(), status
}

// load does one load on the embedded bench and returns its result line.
func (b reviewBench) load(args ...string) record.Result {
	b.t.Helper()
	out, messages, _ := b.do(append([]string{"run", "--json", "--journal", b.journal}, args...)...)
	lines := strings.Split(strings.TrimSpace(out), "\n")
	var result record.Result
	require.NoError(b.t, json.Unmarshal([]byte(lines[len(lines)-1]), &result), messages)
	return result
}

func (b reviewBench) json(args ...string) map[string]any {
	b.t.Helper()
	out, messages, status := b.do(append([]string{"review", "--json"}, args...)...)
	require.Equal(b.t, statusDone, status, messages)
	var got map[string]any
	require.NoError(b.t, json.Unmarshal([]byte(out), &got))
	return got
}

func TestReviewOfARunGivesItsResult(t *testing.T) {
	b := newReviewBench(t)
	result := b.load()
	require.Equal(t, record.Complete, result.Outcome)
	got := b.json("last", "--journal", b.journal)
	estimates := got["estimates"].(map[string]any)
	for name, want := range map[string]*float64{
		"live_area_cm2": result.LiveArea, "series_ohm": result.SeriesOhm, "charge_coulombs": result.Charge,
		"thickness_by_volts_nm": result.ThicknessByVolts, "thickness_by_charge_nm": result.ThicknessByCharge,
		"end_current_density_ma_cm2": result.EndDensity, "hold_seconds": result.HoldSeconds, "ramp_seconds": result.RampSeconds,
	} {
		require.NotNil(t, want, name)
		assert.InDelta(t, *want, estimates[name], 1e-9, name)
	}
	assert.NotContains(t, got, "differs_from_record")
	assert.Equal(t, true, got["simulated"])
	assert.Equal(t, map[string]any{"electrical": "clean", "colour": "unknown"}, got["verdict"])
}

func TestReviewForPeopleKeepsThreeLinesApart(t *testing.T) {
	t.Parallel()
	b := newReviewBench(t)
	b.load("--fault", "contact-lost@35V")
	out, messages, status := b.do("review", "1", "--journal", b.journal, "--plot", b.path("a.svg"))
	require.Equal(t, statusDone, status, messages)
	for _, words := range []string{"SIMULATED\n", "\nended       tripped: contact-lost", "\nelectrical  fault", "\ncolour      unknown", "the curve cannot show", "which part lost contact"} {
		assert.Contains(t, out, words)
	}
	picture, err := os.ReadFile(b.path("a.svg"))
	require.NoError(t, err)
	assert.Contains(t, string(picture), "SIMULATED")
	assert.Contains(t, string(picture), "contact-lost")
}

// foreignCurve writes the curve of a load as somebody else would have logged it:
// a film by the high-field law on 200 cm² with 3 ohm in series, 1 V/s to 40 V.
func foreignCurve(t *testing.T, path string) {
	t.Helper()
	var b strings.Builder
	b.WriteString("t_s,volts,amperes\n")
	film := 1.5
	for n := range 1100 {
		set := math.Min(40, float64(n)*0.1)
		volts, amperes := 0.0, 0.0
		for range 10 {
			low, high := 0.0, set
			for range 40 {
				volts = (low + high) / 2
				amperes = 200 * 6e-14 * math.Expm1(45*volts/film)
				if volts+3*amperes > set {
					high = volts
				} else {
					low = volts
				}
			}
			film += 530.61 * amperes / 200 * 0.01
		}
		jitter := 0.002 * math.Sin(float64(n*n))
		fmt.Fprintf(&b, "%.1f,%.3f,%.4f\n", 100+float64(n)/10, volts+3*amperes+jitter, amperes*(1+jitter))
	}
	require.NoError(t, os.WriteFile(path, []byte(b.String()), 0o600))
}

func TestReviewOfAForeignCurve(t *testing.T) {
	t.Parallel()
	b := newReviewBench(t)
	foreignCurve(t, b.path("c.csv"))
	got := b.json("--curve", b.path("c.csv"), "--area", "200 cm2", "--plot", b.path("c.png"))
	estimates := got["estimates"].(map[string]any)
	assert.InEpsilon(t, 200, estimates["live_area_cm2"], 0.12, "the book law is not that of this bath")
	assert.InEpsilon(t, 3, estimates["series_ohm"], 0.3)
	assert.InDelta(t, 70, estimates["hold_seconds"], 1)
	assert.Equal(t, false, got["simulated"])
	assert.NotEmpty(t, got["assumed"])
	assert.Len(t, got["cannot_show"], 8, "nor what a limit and a setpoint would show")
	image, err := os.ReadFile(b.path("c.png"))
	require.NoError(t, err)
	assert.True(t, bytes.HasPrefix(image, []byte("\x89PNG")))
}

func TestLeakBelowNothingIsNone(t *testing.T) {
	assert.Equal(t, "none seen", leakWords(numberOf(-0.001)))
	assert.Equal(t, "0.0020 A", leakWords(numberOf(0.002)))
	assert.Equal(t, "not known", leakWords(nil))
}

func TestAreaOfACurveScalesItsDensities(t *testing.T) {
	b := newReviewBench(t)
	foreignCurve(t, b.path("c.csv"))
	density := func(args ...string) float64 {
		got := b.json(append([]string{"--curve", b.path("c.csv")}, args...)...)
		return got["estimates"].(map[string]any)["end_current_density_ma_cm2"].(float64)
	}
	// Not to the last digit: the resistance expected of the bath goes with the area,
	// and the end current is read within the meter's step by the decay.
	assert.InEpsilon(t, 2*density("--area", "4 dm2"), density("--area", "200 cm2"), 1e-3)
	assert.InEpsilon(t, density("--area", "200 cm2"), density("--rack", "eight headset spacers", "--area", "200 cm2"), 1e-3)
}

func TestReviewRefusesBadInput(t *testing.T) {
	t.Parallel()
	b := newReviewBench(t)
	b.load()
	foreignCurve(t, b.path("c.csv"))
	require.NoError(t, os.WriteFile(b.path("bad.csv"), []byte("t_s,volts,amperes\n0,1 V,2\n1,1,1\n"), 0o600))
	require.NoError(t, os.WriteFile(b.path("flat.csv"), []byte("t_s,volts,amperes\n0,0,0\n1,0,0\n"), 0o600))
	cases := map[string][]string{
		"review what?":            {"review"},
		"not both":                {"review", "1", "--curve", b.path("c.csv"), "--area", "1 dm2"},
		"needs its wetted area":   {"review", "--curve", b.path("c.csv")},
		"belong to --curve":       {"review", "1", "--area", "1 dm2"},
		"bad.csv:2:3":             {"review", "--curve", b.path("bad.csv"), "--area", "1 dm2"},
		"never exceeds":           {"review", "--curve", b.path("flat.csv"), "--area", "1 dm2"},
		"--area":                  {"review", "--curve", b.path("c.csv"), "--area", "3"},
		"must be above 0":         {"review", "--curve", b.path("c.csv"), "--area", "0 cm2"},
		"no such run":             {"review", "77", "--journal", b.journal},
		"written as .svg or .png": {"review", "1", "--journal", b.journal, "--plot", b.path("x.pdf")},
		"cannot read":             {"review", "--curve", b.path("none.csv"), "--area", "1 dm2"},
	}
	for says, args := range cases {
		out, messages, status := b.do(args...)
		assert.Equal(t, statusBadInput, status, "%v: %s", args, messages)
		assert.Contains(t, messages, says, "%v", args)
		assert.Empty(t, out)
	}
	_, _, status := b.do("review", "last", "--journal", b.path("nowhere.db"))
	assert.Equal(t, statusCannot, status)
}
