package main

import (
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/journal"
)

// Six loads on the embedded bench, whose plant keeps 95 % of the charge as film: the live
// area is larger than the declared one. SIMULATED.
func loadsOf(t *testing.T, path string, loads int, flags ...string) {
	t.Helper()
	for n := range loads {
		got := say("", append([]string{"run", "--json", "--journal", path, "--seed", strconv.Itoa(20 + n)}, flags...)...)
		require.Equal(t, statusDone, got.status, got.errors)
	}
}

func TestAPersonAdoptsTheLiveArea(t *testing.T) {
	t.Parallel()
	path := shelfOf(t, shopLadder("ladder", 3, true))
	adopt := func(more ...string) said {
		return say("", append([]string{"runs", "adopt-area", "last", "--journal", path}, more...)...)
	}
	loadsOf(t, path, 1)
	assert.Contains(t, adopt("--operator", "Ida").errors, "fewer than 5 good loads")
	loadsOf(t, path, 5)
	before := say("", "plan", "--journal", path, "--json").object(t)
	learned := before["learned_area"].(map[string]any)
	assert.Equal(t, []any{6.0, false}, []any{learned["loads"], learned["sets_the_end"]})
	nobody := adopt()
	assert.Equal(t, statusBadInput, nobody.status)
	assert.Contains(t, nobody.errors, "by a person")

	one := adopt("--operator", "Ida", "--json").object(t)
	assert.Equal(t, []any{"Ida", "eight headset spacers", 6.0, true}, []any{one["by"], one["rack"], one["loads"], one["simulated"]})
	after := say("", "plan", "--journal", path, "--json").object(t)
	learned = after["learned_area"].(map[string]any)
	assert.Equal(t, []any{"Ida", true}, []any{learned["adopted_by"], learned["sets_the_end"]})
	share := learned["area_cm2"].(float64) / after["area_cm2"].(float64)
	assert.Greater(t, share, 1.01)
	end := func(made map[string]any) float64 { return made["end"].(map[string]any)["current_amperes"].(float64) }
	assert.InEpsilon(t, share*end(before), end(after), 1e-9)
	assert.Equal(t, before["current_limit_amperes"], after["current_limit_amperes"])
	assert.Contains(t, warningCodes(after), "area-adopted")
	assert.Contains(t, say("", "plan", "--journal", path).out, "live area")
	result := say("", "run", "--json", "--journal", path, "--seed", "31")
	assert.Equal(t, statusDone, result.status, result.errors)

	assert.Equal(t, statusDone, adopt("--operator", "Ida", "--withdraw").status)
	assert.Equal(t, end(before), end(say("", "plan", "--journal", path, "--json").object(t)))
}

func TestNoLiveAreaOfABookValueIsAdopted(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "journal.db")
	loadsOf(t, path, 6)
	got := say("", "runs", "adopt-area", "last", "--operator", "Ida", "--journal", path)
	assert.Equal(t, statusBadInput, got.status)
	assert.Contains(t, got.errors, "book value")
	r, err := journal.OpenReadOnly(path)
	require.NoError(t, err)
	all, err := r.AdoptedAreas("")
	require.NoError(t, err)
	assert.Empty(t, all)
	require.NoError(t, r.Close())
}
