package profiles

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Mistake is one thing that is wrong in a file. Line and Column count from 1, the
// column in characters.
type Mistake struct {
	File    string `json:"-"`
	Line    int    `json:"line"`
	Column  int    `json:"column"`
	Message string `json:"message"`
}

func (m Mistake) String() string {
	return fmt.Sprintf("%s:%d:%d: %s", m.File, m.Line, m.Column, m.Message)
}

// Mistakes are all mistakes of a file, in the order of the file.
type Mistakes []Mistake

// Error has one line a mistake.
func (m Mistakes) Error() string {
	lines := make([]string, len(m))
	for i, mistake := range m {
		lines[i] = mistake.String()
	}
	return strings.Join(lines, "\n")
}

func (m Mistakes) sort() {
	slices.SortStableFunc(m, func(a, b Mistake) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// report collects the mistakes of one file.
type report struct {
	file     string
	lines    []string
	mistakes Mistakes
}

// say notes a mistake at a node.
func (r *report) say(at *node, format string, args ...any) {
	r.sayAt(at.line, at.column, format, args...)
}

func (r *report) sayAt(line, column int, format string, args ...any) {
	r.mistakes = append(r.mistakes, Mistake{File: r.file, Line: line, Column: column, Message: fmt.Sprintf(format, args...)})
}

// err is nil where nothing was wrong.
func (r *report) err() error {
	if len(r.mistakes) == 0 {
		return nil
	}
	r.mistakes.sort()
	return r.mistakes
}
