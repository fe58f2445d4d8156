package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/fault"
	"anodized/controller/record"
)

// TestATripIsToldOnce: a finding that says no more than the trip of its run stands beside it
// only where it brings evidence of its own.
func TestATripIsToldOnce(t *testing.T) {
	const seen = "current fell to 0.89 of what it should be at 36.09 V"
	for name, c := range map[string]struct {
		evidence string
		times    int
	}{
		"the numbers of the trip": {seen, 1},
		"the words of the trip":   {"One part or more lost contact. Seen: " + seen + ".", 1},
		"something else":          {"current fell to 0.50 of what it should be", 2},
	} {
		t.Run(name, func(t *testing.T) {
			res := record.Result{Outcome: record.Tripped,
				Trip:     &record.Trip{Code: fault.ContactLost, Message: "One part or more lost contact. Seen: " + seen + ".", Evidence: []string{seen}},
				Findings: []fault.Finding{{Code: fault.ContactLost, Severity: fault.Fault, Evidence: []string{c.evidence}}}}
			b := &strings.Builder{}
			require.NoError(t, printResult(b, res))
			assert.Equal(t, c.times, strings.Count(b.String(), "current fell to"), b.String())
		})
	}
}
