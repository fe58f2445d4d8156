package fault

import (
	"fmt"
	"strings"
)

// Begin and End are the lines between which the manual carries the table.
const (
	Begin = "<!-- fault table: begin -->"
	End   = "<!-- fault table: end -->"
)

// Markdown returns the two tables as the manual shows them, with their markers.
func Markdown() string {
	var b strings.Builder
	b.WriteString(Begin + "\n\n### Trips\n\n| Code | Cause | What to do | Could be taken for |\n|---|---|---|---|\n")
	for _, t := range trips {
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", t.Code, t.Message, t.Action, lookAlikes(t.Confused))
	}
	b.WriteString("\n### Findings\n\n| Code | Severity | What to do | Could be taken for |\n|---|---|---|---|\n")
	for _, k := range Kinds() {
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", k.Code, k.Severity, k.Action, lookAlikes(k.Confused))
	}
	b.WriteString("\n" + End + "\n")
	return b.String()
}

// Embed returns the text with the part between the markers replaced by the table.
func Embed(text string) (string, error) {
	begin := strings.Index(text, Begin)
	end := strings.Index(text, End)
	if begin < 0 || end < begin {
		return "", fmt.Errorf("embedding the fault table: want the lines %q and %q, in this order", Begin, End)
	}
	rest := strings.TrimPrefix(text[end+len(End):], "\n")
	return text[:begin] + Markdown() + rest, nil
}

func lookAlikes(confused []string) string {
	if len(confused) == 0 {
		return "nothing else"
	}
	return strings.Join(confused, "; ")
}
