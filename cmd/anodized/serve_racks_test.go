package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// One daemon runs load after load: a person changes the rack of the embedded bench.
func TestThreeLoadsOfOneDaemon(t *testing.T) {
	t.Parallel()
	s := serve(t, "--speed", "1000")
	stream := s.follow()
	wait(t, stream, inState("idle"))
	for n := range 3 {
		s.startLoad(t)
		result := wait(t, stream, isResult)
		assert.Equal(t, "complete", result["outcome"], "load %d: %v", n+1, result)
	}
}
