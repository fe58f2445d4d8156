package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/profiles"
)

const shopProfile = `name: shop blue
metal: titanium-grade-5
bath: bicarbonate
target: 28 V
ramp: 1 V/s
current density: 5 mA/cm2
end: {current density: 0.15 mA/cm2}
`

const shopBench = `supply:
  driver: scpi
  address: tcp://192.0.2.5:5025
  highest voltage: 24 V
  highest current: 0.5 A
  dialect:
    status: questionable
    settle: 150 ms
    decimals_v: 2
    decimals_a: 2
    mains_return: halted
interlock:
  driver: modbus
  address: tcp://192.0.2.6:502
  unit: 1
  inputs: [0, 1]
`

// promised are the fields of a plan that programs outside rely on.
var promised = []string{
	"plan_id", "profile", "rack", "metal", "bath", "area_cm2", "target_volts", "ceiling_volts",
	"current_limit_amperes", "current_density_ma_cm2", "ramp_volts_per_second", "end", "expected",
	"calibration", "stages", "warnings",
}

var promisedOfExpected = []string{
	"thickness_nm", "Lab", "hex", "name", "tolerance_volts", "ramp_seconds", "hold_seconds",
	"ramp_current_amperes", "charge_coulombs", "hydrogen_ml", "heat_kj",
}

func TestPlanJSON(t *testing.T) {
	got := say("", "plan", "--json").object(t)
	for _, name := range promised {
		assert.Contains(t, got, name)
	}
	for _, name := range promisedOfExpected {
		assert.Contains(t, got["expected"], name)
	}
	assert.Equal(t, true, got["simulated"], "without a bench the plan is for the virtual one")
	again := say("", "plan", "--json").object(t)
	assert.Equal(t, got["plan_id"], again["plan_id"])
}

func TestEveryStarterProfilePlans(t *testing.T) {
	for _, name := range profiles.ProfileNames() {
		for _, rack := range []string{"one headset spacer", "two clamps and four spacers"} {
			got := say("", "plan", "--profile", name, "--rack", rack, "--json").object(t)
			expected := got["expected"].(map[string]any)
			assert.Equal(t, "complete", expected["outcome"], name)
			assert.Greater(t, got["ceiling_volts"], got["target_volts"], name)
		}
	}
}

func TestPlanFromStandardInput(t *testing.T) {
	got := say(shopProfile, "plan", "--profile", "-", "--json").object(t)
	assert.Equal(t, "shop blue", got["profile"])
	assert.InEpsilon(t, 28, got["target_volts"], 1e-12)
}

func TestPlanWithinABench(t *testing.T) {
	file := filepath.Join(t.TempDir(), "bench.yaml")
	require.NoError(t, os.WriteFile(file, []byte(shopBench), 0o600))
	beyond := say(shopProfile, "plan", "--profile", "-", "--bench", file)
	assert.Equal(t, statusBadInput, beyond.status)
	assert.Contains(t, beyond.errors, "the target 28 V is above the 24 V of this supply")
	assert.Empty(t, beyond.out)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(shopBench, "24 V", "60 V", 1)), 0o600))
	got := say(shopProfile, "plan", "--profile", "-", "--bench", file, "--json").object(t)
	assert.Equal(t, false, got["simulated"])
	assert.InEpsilon(t, 0.5, got["current_limit_amperes"], 1e-12)
	var codes []string
	for _, w := range got["warnings"].([]any) {
		codes = append(codes, w.(map[string]any)["code"].(string))
	}
	assert.Subset(t, codes, []string{"limited-by-supply", "readback-too-coarse"})
	assert.NotContains(t, codes, "simulated")
}

// A person reads 4.951 mA/cm2, not the number that 4.6 A/ft2 comes to.
func TestPlanForPeopleIsRounded(t *testing.T) {
	long := regexp.MustCompile(`[0-9]\.[0-9]{5,}`)
	for _, profile := range []string{"profile-other-units.yaml", "profile-timed.yaml", "profile.yaml"} {
		got := say("", "plan", "--profile", filepath.Join("..", "..", "testdata", "good", profile))
		require.Equal(t, statusDone, got.status, got.errors)
		assert.Empty(t, long.FindString(got.out), "%s", profile)
	}
}

func TestPlanForPeople(t *testing.T) {
	got := say("", "plan")
	require.Equal(t, statusDone, got.status)
	for _, want := range []string{
		"SIMULATED", "70 V", "72 V", "0.15 mA/cm2", "nm/V", "titanium-grade-5-book", "common practice",
		"contact check", "tolerance", "hydrogen", "warning (book-calibration)",
	} {
		assert.Contains(t, got.out, want)
	}
	assert.Empty(t, got.errors)
}

func TestPlanTakesMetalAndBathOfTheShop(t *testing.T) {
	got := say("", "plan", "--metal", "niobium", "--bath", "phosphate", "--json").object(t)
	assert.Equal(t, "niobium", got["metal"])
	assert.Equal(t, "phosphate", got["bath"])
	assert.Contains(t, say("", "plan", "--metal", "niobium").out, "profile-other-metal")
}

func TestPlanRefuses(t *testing.T) {
	red := strings.Replace(shopProfile, "target: 28 V", `colour: "#ff0000"`, 1)
	for name, c := range map[string]struct {
		stdin  string
		args   []string
		status int
		want   string
	}{
		"profile":       {"", []string{"--profile", "blu"}, statusBadInput, "blue"},
		"rack":          {"", []string{"--rack", "nothing"}, statusBadInput, "nothing"},
		"calibration":   {"", []string{"--calibration", "nothing"}, statusBadInput, "nothing"},
		"metal":         {"", []string{"--metal", "brass"}, statusBadInput, "brass"},
		"bath":          {"", []string{"--bath", "salt"}, statusBadInput, "salt"},
		"bench":         {"", []string{"--bench", "nowhere.yaml"}, statusBadInput, "nowhere.yaml"},
		"argument":      {"", []string{"now"}, statusBadInput, "now"},
		"both from -":   {"", []string{"--profile", "-", "--rack", "-"}, statusBadInput, "one file"},
		"mistake":       {strings.Replace(shopProfile, "1 V/s", "1 V", 1), []string{"--profile", "-"}, statusBadInput, "-:5:"},
		"not reachable": {red, []string{"--profile", "-"}, statusNotRight, "not reachable"},
	} {
		got := say(c.stdin, append([]string{"plan"}, c.args...)...)
		assert.Equal(t, c.status, got.status, name)
		assert.Contains(t, got.errors, c.want, name)
		assert.Empty(t, got.out, name)
	}
}

func TestEachFileOfAPlanFromStandardInput(t *testing.T) {
	for _, kind := range []string{"profile", "rack", "metal", "bath", "calibration", "bench"} {
		content, err := os.ReadFile("../../testdata/good/" + kind + ".yaml")
		require.NoError(t, err)
		named := say("", "plan", "--json", "--"+kind, "../../testdata/good/"+kind+".yaml").object(t)
		piped := say(string(content), "plan", "--json", "--"+kind, "-")
		require.Equal(t, statusDone, piped.status, "%s: %s", kind, piped.errors)
		for _, key := range []string{"profile", "rack", "metal", "bath", "calibration", "simulated", "current_limit_amperes", "expected"} {
			assert.Equal(t, named[key], piped.object(t)[key], "%s: %s", kind, key)
		}
	}
}
