package haltest_test

import (
	"fmt"
	"strings"
	"sync"
)

// table is what each driver made of each test.
type table struct {
	mu       sync.Mutex
	ways     []string
	tests    []string // in the order in which they were first told
	outcomes map[[2]string]string
}

func newTable(ways ...string) *table { return &table{ways: ways, outcomes: map[[2]string]string{}} }

func (t *table) tell(test, driver, outcome string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	known := false
	for _, way := range t.ways {
		_, there := t.outcomes[[2]string{test, way}]
		known = known || there
	}
	if !known {
		t.tests = append(t.tests, test)
	}
	t.outcomes[[2]string{test, driver}] = outcome
}

// String has a row for each test and a column for each driver.
func (t *table) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-24s", "")
	for _, way := range t.ways {
		fmt.Fprintf(&b, "%14s", way)
	}
	for _, test := range t.tests {
		fmt.Fprintf(&b, "\n%-24s", test)
		for _, way := range t.ways {
			fmt.Fprintf(&b, "%14s", t.outcomes[[2]string{test, way}])
		}
	}
	return b.String()
}
