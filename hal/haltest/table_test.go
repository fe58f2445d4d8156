package haltest_test

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
)

// table is what each driver made of each test, and why some of them are not for it.
type table struct {
	mu       sync.Mutex
	ways     []string
	tests    []string // in the order in which they were first told
	outcomes map[[2]string]string
	reasons  map[string][]reason
}

// reason is why a driver's device cannot be put to some tests.
type reason struct {
	tests string // their names, a space between them
	why   string
}

func newTable(ways ...string) *table {
	return &table{ways: ways, outcomes: map[[2]string]string{}, reasons: map[string][]reason{}}
}

func (t *table) tell(test, driver, outcome string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if !slices.Contains(t.tests, test) {
		t.tests = append(t.tests, test)
	}
	t.outcomes[[2]string{test, driver}] = outcome
}

func (t *table) of(way string) func(test, outcome string) {
	return func(test, outcome string) { t.tell(test, way, outcome) }
}

// excuse has each - of a table be one that was to be expected.
func (t *table) excuse(on *testing.T) {
	for _, way := range t.ways {
		var excused []string
		for _, r := range t.reasons[way] {
			excused = append(excused, strings.Fields(r.tests)...)
		}
		for _, test := range t.tests {
			if without := t.outcomes[[2]string{test, way}] == "-"; without != slices.Contains(excused, test) {
				on.Errorf("%s, %s: %q, and a reason against it: %v", way, test, t.outcomes[[2]string{test, way}], !without)
			}
		}
	}
}

// String has a row for each test and a column for each driver, and then the reasons.
func (t *table) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-28s", "")
	for _, way := range t.ways {
		fmt.Fprintf(&b, "  %s", way)
	}
	for _, test := range t.tests {
		fmt.Fprintf(&b, "\n%-28s", test)
		for _, way := range t.ways {
			fmt.Fprintf(&b, "  %*s", len(way), t.outcomes[[2]string{test, way}])
		}
	}
	for _, way := range t.ways {
		for _, r := range t.reasons[way] {
			fmt.Fprintf(&b, "\n- %s: %s: %s", way, r.why, r.tests)
		}
	}
	return b.String()
}
