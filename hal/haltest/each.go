package haltest

import (
	"strings"
	"testing"
)

// contractTest is one promise of a contract, for rigs R. It runs where the rig has what
// it needs; a nil needs is any rig.
type contractTest[R any] struct {
	name  string
	needs func(R) bool
	check func(*testing.T, R)
}

// each runs the tests of a contract, in their order, each with a fresh rig, and tells
// what became of them: pass, FAIL, or - where the rig has no hands.
func each[R any](t *testing.T, run func(*testing.T, func(*testing.T)), tell func(test, outcome string), open func(*testing.T) R, tests []contractTest[R]) {
	t.Helper()
	suite := SupplySuite{Run: run, Tell: tell}
	var hands R
	suite.run(t, func(t *testing.T) { hands = open(t) })
	var without []string
	for _, test := range tests {
		if test.needs != nil && !test.needs(hands) {
			without = append(without, test.name)
			suite.tell(test.name, "-")
			continue
		}
		passed := t.Run(test.name, func(t *testing.T) {
			suite.run(t, func(t *testing.T) { test.check(t, open(t)) })
		})
		suite.tell(test.name, map[bool]string{true: "pass", false: "FAIL"}[passed])
	}
	if len(without) > 0 {
		t.Logf("this rig has no hands for: %s", strings.Join(without, ", "))
	}
}
