package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The virtual part is a film of its own making on a metal of its own making: what comes
// out must be its colour class at least.
func TestSensorOfTheVirtualBench(t *testing.T) {
	got := say("", "sensor", "--formed-to", "30 V", "--json").object(t)
	assert.Equal(t, true, got["simulated"])
	assert.Len(t, got["bands"], 8)
	lab := got["Lab"].([]any)
	assert.Less(t, lab[2].(float64), -10.0, "30 V is blue (J. Korean Inst. Surf. Eng. 35(5) 273: light blue at 30 V)")
	stated := got["stated_error"].(map[string]any)
	assert.Greater(t, stated["p95_de00"], stated["median_de00"])
	people := say("", "sensor")
	assert.Contains(t, people.out, "SIMULATED")
	assert.Contains(t, people.out, "stated error")
}

func TestSensorRefuses(t *testing.T) {
	for want, args := range map[string][]string{
		"has no colour sensor": {"sensor", "--bench", "../../testdata/good/bench.yaml"},
		"leave it out":         {"sensor", "--bench", "../../testdata/good/bench-colour-sensor.yaml", "--formed-to", "30 V"},
		"0 V to 200 V":         {"sensor", "--formed-to", "-3 V"},
		"no unit":              {"sensor", "--formed-to", "30"},
	} {
		got := say("", args...)
		assert.Equal(t, statusBadInput, got.status, want)
		assert.Contains(t, got.errors, want)
	}
}
