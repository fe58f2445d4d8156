package campaign_test

import (
	"encoding/json"
	"strings"
	"testing"

	"anodized/controller/campaign"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestBlocksAreInTheirShares: of 100,000 seeds in a row 30,000 are in good order, 50,000 have
// one fault, 15,000 two, 5,000 are disorder, and each row of the catalogue has its thousand.
func TestBlocksAreInTheirShares(t *testing.T) {
	blocks, rows := map[campaign.Block]int{}, map[string]int{}
	for seed := uint64(7); seed < 100_007; seed++ {
		block := campaign.BlockOf(seed)
		blocks[block]++
		if block == campaign.OneFaulty {
			rows[campaign.InjectionOf(seed).Row]++
		}
	}
	assert.Equal(t, map[campaign.Block]int{campaign.InOrder: 30_000, campaign.OneFaulty: 50_000, campaign.TwoFaulty: 15_000, campaign.Disorder: 5_000}, blocks)
	require.Len(t, rows, len(campaign.Rows()))
	for row, n := range rows {
		assert.GreaterOrEqual(t, n, 1000, row)
	}
}

func TestReportSaysAllThatItMust(t *testing.T) {
	out, err := campaign.Campaign(t.Context(), campaign.Options{Runs: 60, Seed: 400, Surface: surface()})
	require.NoError(t, err)
	text := campaign.Markdown(out)
	for _, part := range []string{"SIMULATED", "| commit |", "| seeds | 400 to 459 |", "## Spread", "## What must hold in every run", "## In good order",
		"## One fault", "## First causes", "## Not run here", "contact-lost", "--replay SEED"} {
		assert.Contains(t, text, part)
	}
	for line := range strings.Lines(text) {
		if strings.HasPrefix(line, "| ") {
			assert.True(t, strings.HasSuffix(line, "|\n"), line)
		}
	}
	require.Len(t, out.Healthy.Margins, 3)
	for code, margin := range out.Healthy.Margins {
		assert.Positive(t, margin.Judged, code)
		assert.Less(t, margin.Most, 1.0, code)
	}
	assert.Positive(t, out.Healthy.Margins["contact-lost"].Most)
	var keys map[string]json.RawMessage
	whole, err := json.Marshal(out)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(whole, &keys))
	for _, key := range []string{"runs", "seconds", "violations", "false_trips", "detection", "healthy", "first_causes", "invariants", "not_run", "spread"} {
		assert.Contains(t, keys, key)
	}
}
