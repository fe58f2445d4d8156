package main

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestPropertyTestsDrawTheSameCases: a package whose tests draw cases sets where the draws
// begin.
func TestPropertyTestsDrawTheSameCases(t *testing.T) {
	const library, fixed = "pgregory.net/rapid", module + "/hal/haltest/draw"
	draws, isFixed := map[string]bool{}, map[string]bool{fixed[len(module)+1:]: true}
	files(t, func(dir, path string) {
		if strings.HasSuffix(path, "_test.go") {
			imported := imports(t, path)
			draws[dir] = draws[dir] || slices.Contains(imported, library)
			isFixed[dir] = isFixed[dir] || slices.Contains(imported, fixed)
		}
	})
	for dir, draw := range draws {
		assert.True(t, !draw || isFixed[dir], "%s: import _ %q beside %s, or its tests differ from run to run", dir, fixed, library)
	}
}
