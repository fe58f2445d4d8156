package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/profiles"
)

// TestAnAnsweredBenchMayRunUnattended, and one from before these questions may not.
func TestAnAnsweredBenchMayRunUnattended(t *testing.T) {
	for name, attended := range map[string]bool{"bench-set-up.yaml": false, "bench-gpio.yaml": true, "bench.yaml": true} {
		flags := planFlags{profile: profiles.DefaultProfile, rack: profiles.DefaultRack, bench: "../../testdata/good/" + name}
		request, _, err := assemble(flags, nil)
		require.NoError(t, err, name)
		assert.Equal(t, attended, request.Attended, name)
		assert.Equal(t, attended, len(request.Because) > 0, name)
	}
}
