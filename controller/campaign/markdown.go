package campaign

import (
	"fmt"
	"strings"
)

// Markdown is the report for people.
func Markdown(o Outcome) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# Campaign on the virtual bench (SIMULATED)\n\n%d runs\n", o.Runs)
	return b.String()
}
