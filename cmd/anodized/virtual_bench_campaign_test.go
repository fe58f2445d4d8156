package main

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Not beside other tests: a campaign counts the goroutines of its process.
func TestCampaignPrintsItsReportAsJSON(t *testing.T) {
	got := say("", "virtual-bench", "campaign", "--runs", "20", "--seed", "3", "--json")
	require.Equal(t, statusDone, got.status, got.errors)
	var report struct {
		Runs       int
		Seconds    float64
		Simulated  bool
		Violations []any
		FalseTrips *int `json:"false_trips"`
		Detection  map[string]map[string]any
	}
	require.NoError(t, json.Unmarshal([]byte(got.out), &report))
	assert.Equal(t, 20, report.Runs)
	assert.True(t, report.Simulated)
	assert.NotNil(t, report.Violations)
	require.NotNil(t, report.FalseTrips)
	assert.Zero(t, *report.FalseTrips)
	require.Contains(t, report.Detection, "contact-lost")
	for _, key := range []string{"injected", "found", "missed", "latency_p50_s", "latency_p99_s", "worst_seed"} {
		assert.Contains(t, report.Detection["contact-lost"], key)
	}
}

func TestCampaignRefusesNoRuns(t *testing.T) {
	got := say("", "virtual-bench", "campaign", "--runs", "0")
	assert.Equal(t, statusBadInput, got.status)
	assert.Contains(t, got.errors, "--runs 0")
}
