package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/profiles"
)

// The help lists every shape that the reader knows, each as the reader takes it.
func TestShapesOfTheHelpAreThoseOfTheReader(t *testing.T) {
	var keys []string
	for _, shape := range shapes {
		keys = append(keys, shape.key)
		_, err := profiles.ReadRack("rack.yaml", []byte("name: one\nparts:\n  - name: part\n    count: 1\n    "+shape.key+": "+shape.example+"\n"))
		assert.NoError(t, err, shape.key)
	}
	_, err := profiles.ReadRack("rack.yaml", []byte("name: one\nparts:\n  - {name: part, count: 1}\n"))
	require.Error(t, err)
	_, known, found := strings.Cut(err.Error(), "exactly one of: ")
	require.True(t, found, err)
	assert.ElementsMatch(t, strings.Split(known, ", "), keys)
	_, err = profiles.ReadRack("rack.yaml", []byte("name: one\nparts: [{name: part, count: 1, area: 3 cm2}]\nfixture:\n"+
		"  - wire: {diameter: 1.6 mm, wetted length: 60 mm, count: 8}\n  - area: 3 cm2\n"))
	require.NoError(t, err)
	for _, command := range []string{"area", "check"} {
		help := say("", command, "--help").out
		for _, shape := range shapes {
			assert.Contains(t, help, shape.key+": ", command)
			assert.Contains(t, help, shape.example, command)
		}
	}
}
