package haltest_test

import (
	"fmt"
	"strings"
	"sync"
)

// table is what each driver made of each test.
type table struct {
	mu       sync.Mutex
	tests    []string // in the order in which they were first told
	outcomes map[[2]string]string
}

func newTable() *table { return &table{outcomes: map[[2]string]string{}} }

func (t *table) tell(test, driver, outcome string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	known := false
	for d := range drivers {
		_, there := t.outcomes[[2]string{test, drivers[d].name}]
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
	for _, d := range drivers {
		fmt.Fprintf(&b, "%14s", d.name)
	}
	for _, test := range t.tests {
		fmt.Fprintf(&b, "\n%-24s", test)
		for _, d := range drivers {
			fmt.Fprintf(&b, "%14s", t.outcomes[[2]string{test, d.name}])
		}
	}
	return b.String()
}
