package campaign_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"anodized/controller/campaign"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	keep    = flag.Uint64("keep", 0, "keep the case of this seed as a scenario")
	keepWhy = flag.String("why", "", "what went wrong with it")
	keepAs  = flag.String("keep-fault", "", "of this sort of fault, on a bench that the shop knows")
)

const scenarios = "testdata/scenarios"

// TestScenarios runs the cases that failed once. They stay.
func TestScenarios(t *testing.T) {
	if *keep != 0 {
		keepSeed(t)
	}
	files, err := filepath.Glob(scenarios + "/*.json")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			c, why, err := campaign.ReadScenario(text, surface())
			require.NoError(t, err)
			r, err := campaign.Run(t.Context(), c)
			require.NoError(t, err)
			r.Judge()
			assert.Empty(t, r.Violations, why)
			assert.Empty(t, r.FalseTrip(), why)
		})
	}
}

func keepSeed(t *testing.T) {
	c := campaign.Draw(*keep, surface())
	for _, in := range campaign.Injections() {
		if in.ID == *keepAs {
			c = campaign.OneFault(*keep, in, surface())
		}
	}
	text, err := c.Keep(*keepWhy)
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(scenarios, 0o755))
	require.NoError(t, os.WriteFile(fmt.Sprintf("%s/%d.json", scenarios, *keep), text, 0o644))
}

// TestAKeptCaseIsTheSameLoad keeps and reads cases of every block.
func TestAKeptCaseIsTheSameLoad(t *testing.T) {
	for seed := uint64(2000); seed < 2020; seed += 3 {
		c := campaign.Draw(seed, surface())
		text, err := c.Keep("to see that it is the same")
		require.NoError(t, err)
		again, why, err := campaign.ReadScenario(text, surface())
		require.NoError(t, err)
		assert.Equal(t, "to see that it is the same", why)
		assert.Equal(t, resultOf(t, c), resultOf(t, again), "seed %d", seed)
	}
}

func resultOf(t *testing.T, c campaign.Case) any {
	r, err := campaign.Run(context.Background(), c)
	require.NoError(t, err)
	return r.Result
}
