package profiles

import (
	"fmt"
	"strings"

	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/token"
)

// usualIndent is that of a block that has nothing in it yet.
const usualIndent = 2

// answer writes one answer, in place of the one there is.
func (s *splice) answer(q Question, a Answer) error {
	all, err := s.top("set-up")
	if err != nil {
		return err
	}
	column := usualIndent
	if all.value.kind == mapping && len(all.value.entries) > 0 {
		column = all.value.entries[0].key.column - 1
	}
	if err := s.below(all, "set-up"); err != nil {
		return err
	}
	line := q.Key + ": " + q.text(a)
	old, there := s.find(all.value, q.Key, all.past)
	if !there {
		s.put(all.past, indented(column, line)...)
		return nil
	}
	kept := comments(s.lines[old.first:old.past])
	s.lines = append(s.lines[:old.first:old.first], s.lines[old.past:]...)
	s.put(old.first, indented(column, append(kept, line)...)...)
	return nil
}

// below refuses a value that stands on the line of its key: lines cannot be added to it.
func (s *splice) below(b block, key string) error {
	inline := len(b.value.entries) > 0 && b.value.entries[0].key.line-1 == b.first ||
		len(b.value.items) > 0 && b.value.items[0].line-1 == b.first
	if inline || b.value.kind == list && len(b.value.items) == 0 || b.value.kind == mapping && len(b.value.entries) == 0 {
		return fmt.Errorf("line %d: %s stands on one line with its value; write the value in lines of its own below it", b.first+1, key)
	}
	return nil
}

// comments are those of lines that are replaced, a line each.
func comments(lines []string) (kept []string) {
	for _, t := range lexer.Tokenize(strings.Join(lines, "\n") + "\n") {
		if t.Type == token.CommentType {
			kept = append(kept, "#"+t.Value)
		}
	}
	return kept
}

// text is an answer as it stands in the file.
func (q Question) text(a Answer) string {
	how := ""
	switch {
	case a.How != "" && q.HowWords != nil:
		how = ", " + q.How + ": " + a.How
	case a.How != "":
		how = ", " + q.How + ": " + inQuotes(a.How)
	}
	return fmt.Sprintf("{date: %s, answer: %s%s}", a.Date, q.Say(&a), how)
}

// check writes one more check.
func (s *splice) check(c LoadCheck) error {
	all, err := s.top("checks")
	if err != nil {
		return err
	}
	if err := s.below(all, "checks"); err != nil {
		return err
	}
	dash := s.dash(all)
	text := c.text()
	s.put(all.past, append(indented(dash, "- "+text[0]), indented(dash+2, text[1:]...)...)...)
	return nil
}

// dash is the column of the dashes of a list.
func (s *splice) dash(b block) int {
	for _, line := range s.lines[b.first+1 : b.past] {
		if rest := strings.TrimLeft(line, " "); strings.HasPrefix(rest, "- ") || rest == "-" {
			return len(line) - len(rest)
		}
	}
	return usualIndent
}
